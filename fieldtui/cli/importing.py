"""``fieldtui route import``: a route out of a spreadsheet, with the guess at its columns shown."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldtui.cli.answers import print_json, print_problems
from fieldtui.cli.arguments import add_command, add_json
from fieldtui.cli.places import open_workspace
from fieldtui.core.measurement.ohms import NotAResistanceError, Unit
from fieldtui.core.text import counted, visible
from fieldtui.errors import BadInputError, WrongUseError

if TYPE_CHECKING:
    from fieldtui.desk.planning import Imported
    from fieldtui.files.route.point_table import PointTable


# Those of files.route.columns.FIELDS, by heart: help is made for every command, and must not import it.
FIELD_NAMES = (
    "id", "title", "section", "section_title", "where", "a", "b", "unit", "limit", "max", "min", "cmp",
    "criterion", "retest", "expected", "expected_low", "expected_high", "awg", "mm2", "length_mm", "metal",
    "repeats", "rule", "method", "current_ma", "correct_to_20", "decision", "guard", "family", "condition",
    "prepare", "restore", "caution", "pair", "x", "y", "z",
)  # fmt: skip


def route_import(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.planning import Heading, import_points
    from fieldtui.files.csv_lines import MAX_BYTES
    from fieldtui.files.route.point_table import parse_point_table

    workspace = open_workspace()
    heading = Heading(
        title=arguments.title,
        asset=arguments.asset,
        revision=arguments.revision,
        unit=_unit(arguments.unit),
        criterion=arguments.criterion,
    )
    table = parse_point_table(workspace.disk.read_file(Path(arguments.list), MAX_BYTES), arguments.list)
    made = import_points(
        workspace, table, heading, said=arguments.map, out=arguments.out, force=arguments.force
    )
    if arguments.json:
        print_json(_import_as_json(made, table))
    else:
        _print_import(made, table)
    if made.path is None:
        return BadInputError.exit_code
    return 0 if made.passes else 1


def _unit(text: str) -> Unit | None:
    from fieldtui.files.route.written_limits import parse_written_unit

    try:
        return parse_written_unit(text) if text else None
    except NotAResistanceError as error:
        known = ", ".join(unit.value for unit in Unit)
        raise WrongUseError(f"--unit: {error}", remedy=f"one of {known}") from None


def _print_import(made: Imported, table: PointTable) -> None:
    rows = [("column", "taken as", "why", "for example")] if table.columns else []
    rows += [(each.column, each.field, each.why, table.example(each.column)) for each in made.taken]
    rows += [(column, "-", "not taken", table.example(column)) for column in made.left]
    widths = [min(30, max((len(row[place]) for row in rows), default=0)) for place in range(3)]
    for row in rows:
        shown = [cell[:width].ljust(width) for cell, width in zip(row, widths, strict=False)]
        print(visible("  ".join([*shown, row[3][:40]])).rstrip())
    for note in made.notes:
        print(visible(f"note: {note}"))
    _print_found(made)


def _print_found(made: Imported) -> None:
    print_problems(made.problems, sys.stdout)
    errors = sum(problem.severity == "error" for problem in made.problems)
    if made.path is None:
        print(f"nothing was written: {counted(errors, 'problem')}")
        return
    print(f"wrote {visible(str(made.path))}: {counted(made.points, 'point')}")
    if errors:
        print(f"it cannot be walked yet: {counted(errors, 'problem')}")
    else:
        print(f"it passes the check with {counted(len(made.problems), 'warning')}")


def _import_as_json(made: Imported, table: PointTable) -> dict[str, object]:
    return {
        "ok": made.passes,
        "file": str(made.path) if made.path is not None else None,
        "points": made.points,
        "mapping": [
            {
                "field": each.field,
                "column": each.column,
                "why": each.why,
                "example": table.example(each.column),
            }
            for each in made.taken
        ],
        "not_taken": list(made.left),
        "notes": list(made.notes),
        "problems": [problem.as_json() for problem in made.problems],
    }


def add_commands(route: Any) -> None:
    """``route import``."""
    parser = add_command(
        route,
        "import",
        route_import,
        "a route out of a spreadsheet's list of points",
        description="Make a route file of a CSV file with columns of any name, one line a point. Which "
        "column is what is guessed and shown; --map says it. What could mean two things is refused. Exit "
        "code 1 where the route was written and cannot be walked yet, 2 where nothing was written. OURS is "
        "one of: " + ", ".join(FIELD_NAMES) + ".",
        examples="""
            fieldtui route import points.csv --title "Wing bonds" --asset "test rig" --unit mohm
            fieldtui route import points.csv --map "id=Bond no,limit=Max [mOhm]" --map "pair="
            fieldtui route import points.csv --out routes/wing.toml --force
        """,
    )
    parser.add_argument("list", help="the list as CSV: comma, semicolon or tab between cells")
    parser.add_argument(
        "--map",
        action="append",
        default=[],
        metavar="OURS=THEIRS",
        help="which column is what, several with commas between; nothing after = for a field without one",
    )
    parser.add_argument(
        "--out", default="", metavar="FILE", help="the route file (routes/NAME.toml if left out)"
    )
    parser.add_argument("--title", default="", help="the route's title (the list's name if left out)")
    parser.add_argument("--asset", default="", help="what is measured")
    parser.add_argument("--revision", default="", help="of the plan")
    parser.add_argument("--unit", default="", help="the route's unit, and that of bare figures")
    parser.add_argument("--criterion", default="", help="for points without a limit: one of criteria.toml")
    parser.add_argument("--force", action="store_true", help="replace a route file that is there already")
    add_json(parser)
