"""A route file: loaded for a walk, or checked for its planner."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from fieldtui.core.plan.route import Route
from fieldtui.core.plan.tables import Criterion, Instrument
from fieldtui.errors import BadInputError, Problem
from fieldtui.files.route.checks import check_meters, check_sense
from fieldtui.files.route.mapping import map_route
from fieldtui.files.toml.fields import MAX_ID, id_refusal, shown
from fieldtui.files.toml.schema import Findings, refuse
from fieldtui.files.toml.text import parse_toml

# Device names that Windows takes for any extension (Windows file naming rules).
_DEVICES = {"con", "prn", "aux", "nul", "conin$", "conout$"} | {
    f"{port}{digit}" for port in ("com", "lpt") for digit in "0123456789"
}


@dataclass(frozen=True, slots=True)
class RouteFile:
    """A route that can be walked, its tables as loaded, and what its planner should know."""

    route: Route
    raw: dict[str, Any]
    problems: tuple[Problem, ...]  # warnings only
    part: tuple[str, ...] = ()  # the sections that are walked, where others are left to another crew
    elsewhere: Mapping[str, str] = field(default_factory=dict)  # points left out for it: title by id


def load_route(data: bytes, file: str, name: str, criteria: Mapping[str, Criterion]) -> RouteFile:
    """The route in ``data``; ``name`` is the file's stem, ``file`` the name used in problems.

    Raises:
        BadInputError: with every problem of the file, warnings included.
    """
    route, raw, problems = _read(data, file, name, criteria)
    if route is None or any(problem.severity == "error" for problem in problems):
        raise refuse(problems, "the route")
    return RouteFile(route, raw, tuple(problems))


def sketch_route(data: bytes, file: str, name: str) -> tuple[str, int]:
    """A route's title and how many points it has, nothing of it checked; ``name`` where it has no title.

    Raises:
        BadInputError: it is no TOML.
    """
    found = parse_toml(data, file).data
    title, points = found.get("title"), found.get("points")
    return title if isinstance(title, str) else name, len(points) if isinstance(points, list) else 0


def check_route(
    data: bytes,
    file: str,
    name: str,
    criteria: Mapping[str, Criterion],
    instruments: Mapping[str, Instrument] | None = None,
) -> list[Problem]:
    """Everything wrong with a route file, errors and warnings, in the file's order.

    With ``instruments``, the crew's meters, limits that none of them can tell are among the warnings.
    """
    try:
        return _read(data, file, name, criteria, instruments or {})[2]
    except BadInputError as error:
        return list(error.problems)


def name_refusal(name: str) -> str | None:
    """Why ``name`` cannot be a route's name, or None where it can: an id, and a file name anywhere."""
    refused = id_refusal(name)
    if refused is not None:
        return refused
    if name.startswith(".") or name.endswith("."):
        return "it begins or ends with a dot"
    if name.split(".")[0].lower() in _DEVICES:
        return "Windows keeps it for a device"
    return None


def _read(
    data: bytes,
    file: str,
    name: str,
    criteria: Mapping[str, Criterion],
    instruments: Mapping[str, Instrument] | None = None,
) -> tuple[Route | None, dict[str, Any], list[Problem]]:
    text = parse_toml(data, file)
    findings = Findings(text)
    refused = name_refusal(name)
    if refused is not None:
        remedy = f"rename the file: 1 to {MAX_ID} letters, digits, - _ and ."
        findings.add((), f"{shown(name)} cannot be a route's name: {refused}", remedy)
    placed = map_route(text.data, name, criteria, findings)
    check_sense(placed, findings)
    check_meters(placed, instruments or {}, findings)
    return placed.route, text.data, findings.in_order()
