"""The commands about plans: routes, and the tables and forms that go with them."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from fieldtui.cli import importing
from fieldtui.cli.answers import print_json, print_problems
from fieldtui.cli.arguments import add_command, add_group, add_json, add_route
from fieldtui.cli.places import open_workspace
from fieldtui.core.text import counted, visible
from fieldtui.errors import BadInputError, Problem


def route_check(arguments: argparse.Namespace) -> int:
    found: list[Problem] = []
    code = checked = 0
    for file in arguments.files:
        try:
            found += open_workspace(file).check_route(file)
            checked += 1
        except BadInputError as error:  # the others are looked at all the same
            found += error.problems or [Problem(error.what, error.remedy, file=file)]
            code = error.exit_code
    problems = list(dict.fromkeys(found))  # those of the common tables once, not for each route
    errors = sum(problem.severity == "error" for problem in problems)
    if arguments.json:
        listed = [problem.as_json() for problem in problems]
        print_json({"ok": not errors, "files": arguments.files, "problems": listed})
    else:
        print_problems(problems, sys.stdout)
        files = counted(len(arguments.files), "route")
        print(
            f"{files if checked == len(arguments.files) else f'{checked} of {files}'} checked: "
            f"{counted(errors, 'error')}, {counted(len(problems) - errors, 'warning')}"
        )
    return code or (1 if errors else 0)


def route_export(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.planning import export_points

    workspace = open_workspace(arguments.route)
    made = export_points(workspace, arguments.route, arguments.out, force=arguments.force)
    print(f"wrote {visible(arguments.out)}" if arguments.out else made.data.decode().rstrip("\n"))
    print("not in the list, and to be given or written again after route import:", file=sys.stderr)
    for what in made.left_out:
        print(visible(f"  {what}"), file=sys.stderr)
    return 0


def route_sheet(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.transcription import paper_brief
    from fieldtui.report.capture.files import write_capture_sheet
    from fieldtui.report.capture.sheet import make_sheet

    workspace = open_workspace(arguments.route)
    route = workspace.load_route(arguments.route).route
    tables = workspace.tables()
    meter = paper_brief(tables, route, meter=arguments.meter).instrument if arguments.meter else None
    sheet = make_sheet(route, tables, meter)
    files = write_capture_sheet(workspace.disk, sheet, Path(arguments.out), force=arguments.force)
    if arguments.json:
        print_json(
            {
                "files": [str(path) for path in files],
                "readings": sheet.readings,
                "runs": sheet.runs,
            }
        )
        return 0
    runs = f", {counted(sheet.runs, 'memory run')}" if sheet.runs else ""
    print(f"{counted(sheet.readings, 'reading')}{runs}")
    for path in files:
        print(f"wrote {visible(str(path))}")
    return 0


def add_commands(commands: Any) -> None:
    """``route check``, ``route import``, ``route export`` and ``route sheet``."""
    route = add_group(
        commands,
        "route",
        "work on route files",
        examples="""
            fieldtui route check routes/*.toml      every problem of every route
            fieldtui route import points.csv        a route out of a spreadsheet
            fieldtui route sheet airframe-bonds     a capture sheet to print
        """,
    )
    parser = add_command(
        route,
        "check",
        route_check,
        "every problem of route files",
        examples="""
            fieldtui route check airframe-bonds     a route of routes/
            fieldtui route check routes/*.toml      all of them
        """,
    )
    add_route(parser, "files", nargs="+", metavar="FILE", help="route files, or names in routes/")
    add_json(parser)
    importing.add_commands(route)
    parser = add_command(
        route,
        "export",
        route_export,
        "the points of a route as a list for spreadsheets",
        description="Write the points as CSV, as route import reads them. What else the route has, such as "
        "its title and its paths, is not in the list and is named on standard error.",
        examples="""
            fieldtui route export airframe-bonds --out points.csv
            fieldtui route export airframe-bonds    to look at it
        """,
    )
    add_route(parser)
    parser.add_argument("--out", default="", metavar="FILE", help="write it there, in UTF-8")
    parser.add_argument("--force", action="store_true", help="replace a file that is there already")
    _add_sheet(route)


def _add_sheet(route: Any) -> None:
    parser = add_command(
        route,
        "sheet",
        route_sheet,
        "a capture sheet to print, and to key into afterwards",
        description="Write the sheet as a page that prints on A4 and Letter, as plain text, and as CSV for "
        "fieldtui transcribe. With a meter the memory numbers are printed as well, and where its memory is "
        "full.",
        examples="""
            fieldtui route sheet airframe-bonds --meter small-meter
            fieldtui route sheet airframe-bonds --out paper
        """,
    )
    add_route(parser)
    parser.add_argument("--out", default="sheets", metavar="DIR", help="the folder (sheets if left out)")
    parser.add_argument("--meter", default="", metavar="ID", help="id of the meter in instruments.toml")
    parser.add_argument("--force", action="store_true", help="replace sheets that are there already")
    add_json(parser)
