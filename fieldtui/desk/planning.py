"""What is done with plans before anybody walks: a spreadsheet becomes a route, a route a list again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePath
from typing import Any

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.text import normal, refusal, visible
from fieldtui.desk.workspace import Workspace, slug
from fieldtui.errors import BadInputError, NotSavedError, Problem, WrongUseError
from fieldtui.files.disk import reason
from fieldtui.files.route.columns import Taken, match_columns, parse_map
from fieldtui.files.route.file import check_route, name_refusal
from fieldtui.files.route.point_list import PointList, place_problems, read_points
from fieldtui.files.route.point_list_csv import format_point_list, left_out
from fieldtui.files.route.point_table import PointTable
from fieldtui.files.route.text import format_route_file

# What mends a heading from the command line.
_ASKED = {
    "asset": "give --asset, or write it into the route",
    "unit": "give --unit, or write it into the route",
}


@dataclass(frozen=True, slots=True)
class Heading:
    """What a list of points does not say about its route; empty where it was not given."""

    title: str = ""
    asset: str = ""
    revision: str = ""
    unit: Unit | None = None
    criterion: str = ""  # for points without a limit of their own


@dataclass(frozen=True, slots=True)
class Imported:
    """What became of a list of points. ``path`` is None where nothing was written."""

    path: Path | None
    taken: tuple[Taken, ...]
    left: tuple[str, ...]  # columns that are not taken
    points: int
    notes: tuple[str, ...]
    problems: tuple[Problem, ...]

    @property
    def passes(self) -> bool:
        """Whether the route can be walked as it is."""
        return self.path is not None and not any(each.severity == "error" for each in self.problems)


def import_points(
    workspace: Workspace,
    table: PointTable,
    heading: Heading,
    *,
    said: Sequence[str] = (),
    out: str = "",
    force: bool = False,
) -> Imported:
    """Make a route file of a spreadsheet's list of points.

    Args:
        workspace: whose criteria count, and whose ``routes`` folder takes the file.
        table: the list.
        heading: what the list does not say.
        said: what is known of the columns, such as ``id=Bond no``.
        out: where to write; a name in ``routes`` made from the list's where it is empty.
        force: whether a file that is there already may be replaced.

    Raises:
        WrongUseError: the file is there already.
        BadInputError: the heading or the new file's name cannot be used.
        NotSavedError: the medium refused.
    """
    file = table.file
    path = _target(workspace, file, out)
    columns, problems = parse_map(said, table)
    problems = problems if table.columns else []  # what could not be read has no column of any name
    if not force:
        _refuse_taken(workspace, path, problems)
    known = workspace.tables().criteria
    if heading.criterion and heading.criterion not in known:
        listed = ", ".join(known) or "none"
        raise BadInputError(
            f"There is no criterion {_text(heading.criterion)}", remedy=f"the criteria are: {listed}"
        )
    criteria = {name: criterion.limit for name, criterion in known.items()}
    doubts: list[Problem] = []
    taken = match_columns(table, columns, criteria, doubts)
    left = tuple(column for column in table.columns if column not in {each.column for each in taken})
    found = read_points(table, taken, heading.unit, criteria)
    if doubts:  # what they leave out would be missing in every line
        asked = tuple(problems + doubts + found.problems)
        return Imported(None, tuple(taken), left, len(found.points), (), asked)
    if heading.criterion:
        without = sum(not point.keys() & {"limit", "criterion"} for point in found.points)
        found.notes.append(f"lines without a limit, judged by {heading.criterion} (--criterion): {without}")
    route = format_route_file(_document(found, heading, file), _remarks(file, taken))
    checked = place_problems(check_route(route, str(path), path.stem, known), found, file)
    checked = [replace(each, remedy=_ASKED.get(each.field, each.remedy)) for each in checked]
    problems += found.problems
    told = {problem.line for problem in problems}
    if problems:  # what cannot be understood is not written; what is told of such a line is enough
        problems += [
            each
            for each in checked
            if each.file == file and (each.line not in told or each.what in found.repeated.values())
        ]
        problems.sort(key=lambda problem: problem.line or 0)
        return Imported(None, tuple(taken), left, len(found.points), tuple(found.notes), tuple(problems))
    _write(workspace, path, route)
    return Imported(path, tuple(taken), left, len(found.points), tuple(found.notes), tuple(checked))


def _target(workspace: Workspace, file: str, out: str) -> Path:
    routes = workspace.root / "routes"
    folder = routes if workspace.disk.is_folder(routes) else workspace.root
    path = Path(out) if out else folder / f"{slug(PurePath(file).stem)}.toml"
    if path.suffix != ".toml" or (why := name_refusal(path.stem)):
        why = "its name does not end in .toml" if path.suffix != ".toml" else why
        remedy = "use letters, digits, - and _, and end it in .toml"
        raise BadInputError(f"This cannot be a route file: {why}", where=str(path), remedy=remedy)
    return path


def _document(found: PointList, heading: Heading, file: str) -> dict[str, Any]:
    title = _text(heading.title) or _text(PurePath(file).stem.replace("-", " ").replace("_", " "))
    document: dict[str, Any] = {"format": 1, "title": title}
    document |= {"asset": _text(heading.asset)} if heading.asset else {}
    document |= {"revision": _text(heading.revision)} if heading.revision else {}
    document["source"] = visible(f"imported from {PurePath(file).name}")
    document |= {"unit": found.unit.value} if found.unit is not None else {}
    document["defaults"] = {"criterion": _text(heading.criterion)} if heading.criterion else {}
    return document | {"sections": found.sections, "points": found.points}


def _text(text: str) -> str:
    if why := refusal(normal(text)):
        raise BadInputError(f"{text!a}: {why}", remedy="give it without that")
    return normal(text)


def _remarks(file: str, taken: Sequence[Taken]) -> list[str]:
    columns = [f"  {each.field} from {each.column}" for each in taken]
    return [visible(line) for line in (f"Imported from {PurePath(file).name}:", *columns)]


@dataclass(frozen=True, slots=True)
class Exported:
    """A route's points as a list for spreadsheets, in UTF-8, and what of the route is not in it, in words."""

    data: bytes
    left_out: tuple[str, ...]


def export_points(workspace: Workspace, ref: str, out: str = "", *, force: bool = False) -> Exported:
    """The points of a route as a list for spreadsheets; written to ``out`` where it is given.

    Raises:
        BadInputError: the route cannot be read.
        WrongUseError: ``out`` is there already, and ``force`` is not given.
        NotSavedError: the medium refused.
    """
    route = workspace.load_route(ref).route
    criteria = workspace.tables().criteria
    data = format_point_list(route, criteria)
    if out:
        if not force:
            _refuse_taken(workspace, Path(out))
        _write(workspace, Path(out), data)
    return Exported(data, left_out(route, criteria))


def _refuse_taken(workspace: Workspace, path: Path, problems: Sequence[Problem] = ()) -> None:
    if workspace.disk.path_identity(path) is not None:
        remedy = "name another one with --out FILE, or replace it with --force"
        raise WrongUseError("This file is there already", where=str(path), remedy=remedy, problems=problems)


def _write(workspace: Workspace, path: Path, data: bytes) -> None:
    try:
        workspace.disk.write_whole(path, data)
    except OSError as error:
        raise NotSavedError(
            f"The file could not be written: {reason(error)}",
            where=str(path),
            remedy="name another file with --out FILE",
        ) from error
