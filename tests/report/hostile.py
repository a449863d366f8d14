"""A survey in which every text is hostile, and the same one in plain words to hold it against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from datetime import datetime
from enum import Enum
from pathlib import Path
from typing import Any, get_args, get_type_hints

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import CriterionStatus, Limit, PathLimit, Point, Section
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Caution, CheckStandard, Criterion, Instrument, Reasons
from fieldtui.core.trail import events as ev
from fieldtui.desk.reading import ReadSession
from fieldtui.errors import Problem
from tests.ui.review_fixtures import Story, mohm, route_of

PAYLOADS = (
    "",
    "<script>document.title='ran'</script>",
    "\"><img src=x onerror=document.title='ran'>",
    "' onmouseover='x' y=\"z\" `",
    "</td></table></title></style></svg></desc>",
    "<!-- --> <![CDATA[ ]]> <?x ?> <!DOCTYPE x>",
    "&lt;b&gt; &amp; &#60; &copy",
    "{{ 7 * 7 }} {% raw %} {# #} %s {0} \\3c ",
    "; } * { display: none } @import url(x); /* \\",
    '=HYPERLINK("x","y")',
    "+1\t@x -y 'z",
    "\x1b[2J\x1b]0;t\x07\x00\x7f\x9b",
    "\u202egnp.exe\u2066\u200b\ufeff\u2028",
    "a" + "\u0301" * 9,
    "\ud800\ufffe\U000e0041",
    "מבחן اختبار ✈ 🛩",
)


class Hostile:
    """Texts with a payload before and after the word that names them; keeps what it handed out."""

    def __init__(self, payload: str) -> None:
        self.payload = payload
        self.shown: list[str] = []

    def text(self, word: str) -> str:
        """A text that every reader of the report must find there."""
        text = f"{self.payload}{word}{self.payload}"
        self.shown.append(text)
        return text

    def unshown(self, word: str) -> str:
        """A text that the report does not carry."""
        return f"{self.payload}{word}{self.payload}"


def hostile_session(payload: str) -> tuple[ReadSession, Mapping[str, Criterion], Hostile]:
    """Three points, one of each kind of event, problems of the form, a criterion: all hostile."""
    hostile = Hostile(payload)
    text, unshown = hostile.text, hostile.unshown
    name = text("criterion")
    limit = Limit(
        maximum=mohm("2.5"), criterion=name, source=text("source"), status=CriterionStatus.UNVERIFIED
    )
    points = [_point(hostile, number, limit) for number in range(3)]
    points[0] = replace(points[0], pair=points[1].id)
    route = route_of(
        *points,
        name=text("route"),
        title=text("title"),
        asset=text("asset"),
        revision=text("revision"),
        source=unshown("planner"),
        paths=(PathLimit(text("path"), text("path title"), tuple(point.id for point in points[:2]), limit),),
        sections=(Section(points[0].section, text("section title")),),
    )
    meter = Instrument(
        id=unshown("meter id"),
        title=text("meter"),
        serial=text("serial"),
        memory_size=9,
        check_standard=CheckStandard(mohm("2.5"), mohm("0.1"), unshown("resistor")),
    )
    story = Story(route, meter, by=text("by"))
    _tell(story, hostile, points)
    session = story.session(
        crew=Crew(text("prober"), text("recorder")),
        job=text("job"),
        cautions=(Caution(unshown("caution id"), text("caution"), text("caution text")),),
        problems=(Problem(text("what"), text("remedy"), text("file"), 3, text("field")),),
    )
    facts = replace(
        session.facts,
        id=text("session"),
        program=text("program"),
        transcribed_from=text("sheet"),
        follows=text("follows"),
        reasons=Reasons({"skip": (unshown("offered reason"),)}),
    )
    criteria = {name: Criterion(name, text("criterion title"), limit, text("clause"))}
    return replace(session, facts=facts, folder=Path("sessions")), criteria, hostile


def _point(hostile: Hostile, number: int, limit: Limit) -> Point:
    return Point(
        id=hostile.text(f"point {number}"),
        section=hostile.unshown("section"),  # one section; its title is what the report says
        title=hostile.text(f"what {number}"),
        unit=Unit.MOHM,
        limit=limit,
        where=hostile.text(f"where {number}"),
        a=hostile.text(f"a {number}"),
        b=hostile.text(f"b {number}"),
        family=hostile.unshown("family"),
        condition=hostile.unshown("condition"),
        prepare=hostile.unshown("prepare"),
        restore=hostile.unshown("restore"),
        caution=hostile.unshown("point caution"),
    )


def _tell(story: Story, hostile: Hostile, points: list[Point]) -> None:
    story.tell(ev.RunStarted, run=1, number=1, reason=hostile.text("run reason"))
    story.read(points[0].id, "1.0", note=hostile.text("note"), reason=hostile.text("confirmed"))
    story.read(points[1].id, "9.0")
    for kind in ev.KINDS.values():
        if kind not in (ev.Started, ev.ReadingTaken):
            story.tell(kind, after_min=0, **_filled(kind, hostile, points[2].id))


def _filled(kind: type[ev.Event], hostile: Hostile, point: str) -> dict[str, Any]:
    """Every text field of a kind of event hostile; a kind that is new to this program too."""
    hints = get_type_hints(kind)
    filled: dict[str, Any] = {}
    for each in fields(kind):
        types = get_args(hints[each.name]) or (hints[each.name],)
        if each.name in ("time", "by") or datetime in types:
            continue
        if each.name == "point":
            filled[each.name] = point
        elif str in types:
            if each.name != "note" or kind is not ev.PointInserted:  # a definition takes its place
                filled[each.name] = hostile.text(f"{kind.kind} {each.name}")
        elif int in types:
            filled[each.name] = 1
        elif Resistance in types:
            filled[each.name] = mohm("1.5")
        elif issubclass(types[0], Enum):
            filled[each.name] = list(types[0])[-1]
    return filled
