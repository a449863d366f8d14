"""Part of a route: the sections that one of several crews walks, and the points left to the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from fieldtui.errors import BadInputError
from fieldtui.files.route.file import RouteFile
from fieldtui.files.toml.fields import shown


def part_of_route(route: RouteFile, sections: Sequence[str]) -> RouteFile:
    """The route cut down to ``sections``; its title says so, and the points left out are kept by id.

    Paths that lead out of the part are left out: nobody has all of their points.

    Raises:
        BadInputError: a section is not on the route, or none is named.
    """
    known = {section.id: section for section in route.route.sections}
    named = list(dict.fromkeys(part for text in sections if (part := text.strip())))
    strange = [name for name in named if name not in known]
    if strange or not named:
        raise BadInputError(
            f"There is no section {shown(strange[0])} on this route" if strange else "No section is named",
            where=route.route.name,
            remedy=f"its sections are: {', '.join(known)}",
        )
    points = tuple(point for point in route.route.points if point.section in named)
    if not points:
        raise BadInputError(
            f"There is no point in {', '.join(named)}", where=route.route.name, remedy="name another section"
        )
    kept = {point.id for point in points}
    elsewhere = {point.id: point.title for point in route.route.points if point.id not in kept}
    if not elsewhere:
        return route
    title = f"{route.route.title} (part: {', '.join(named)})"
    points = tuple(replace(point, pair=point.pair if point.pair in kept else "") for point in points)
    paths = tuple(path for path in route.route.paths if set(path.points) <= kept)
    core = replace(
        route.route,
        title=title,
        sections=tuple(known[name] for name in known if name in named),
        points=points,
        paths=paths,
    )
    raw = _raw_part(route.raw, title, named, kept, {path.id for path in paths})
    return replace(route, route=core, raw=raw, part=tuple(named), elsewhere=elsewhere)


def _raw_part(
    raw: dict[str, Any], title: str, sections: Sequence[str], points: set[str], paths: set[str]
) -> dict[str, Any]:
    """The tables of the route file, cut down in the same way."""
    part = {
        **raw,
        "title": title,
        "sections": [each for each in raw.get("sections", []) if each.get("id") in sections],
        "points": [_without_lost_pair(each, points) for each in raw["points"] if each.get("id") in points],
        "paths": [each for each in raw.get("paths", []) if each.get("id") in paths],
    }
    return {name: table for name, table in part.items() if table != []}


def _without_lost_pair(point: dict[str, Any], points: set[str]) -> dict[str, Any]:
    return {name: value for name, value in point.items() if name != "pair" or value in points}
