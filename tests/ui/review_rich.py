"""A survey in which a point has everything: doubt, correction, rework, retest, path, correction to 20 C.

All invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Conductor, Limit, PathLimit, Point
from fieldtui.core.plan.tables import Criterion
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.earlier import Earlier, samples_of
from fieldtui.desk.reading import ReadSession
from tests.ui.review_fixtures import FRAME as PLAIN_FRAME
from tests.ui.review_fixtures import FROM_MEMORY, METER, Story, mohm, route_of

STATED = replace(METER, accuracy=Accuracy(Decimal("1"), mohm("0.010"), mohm("0.010")))
CELSIUS = Decimal("30.0")
FOUR = DecisionRule(RuleKind.FOUR_STATES)
FRAME = replace(PLAIN_FRAME, rule=FOUR)
CRITERIA = {
    "equipment-frame": Criterion("equipment-frame", "Equipment frame to structure", FRAME, "11-188f"),
    "enclosure": Criterion("enclosure", "Enclosure", FROM_MEMORY),
}
SUM = Limit(maximum=mohm("4.0"))


def point(name: str, limit: Limit, **fields: object) -> Point:
    return Point(name, "SW" if name < "T" else "TL", f"Title of {name}", Unit.MOHM, limit, **fields)  # type: ignore[arg-type]


POINTS = (
    point(
        "SW-01", FRAME, where="zone 620", a="track", b="spar", correct_to_20=True, pair="TL-01",
        conductor=Conductor(Decimal(180), awg="12"), retest=Limit(maximum=mohm("2.0")),
        restore="conversion coat", caution="fuel vent 1 m forward", condition="flaps up",
    ),
    point("SW-02", FRAME, pair="TL-02"),
    point("SW-03", FROM_MEMORY),
    point("TL-01", FRAME, pair="SW-01"),
    point("TL-02", FRAME, pair="SW-02"),
    point("TL-03", Limit(record_only=True)),
    point("TL-04", FRAME),
)  # fmt: skip
PATHS = (
    PathLimit("P1", "Strut to spar", ("SW-01", "SW-02"), SUM),
    PathLimit("P2", "", ("TL-03", "TL-04"), SUM),
)


def told() -> Story:
    """SW-01 with its whole life; SW-02 conditional; SW-03 struck out and waived; the rest plain."""
    story = Story(route_of(*POINTS, paths=PATHS, celsius=CELSIUS), STATED)
    story.brief().tell(ev.RunStarted, run=1, number=1)
    story.tell(ev.Skipped, point="SW-01", reason="paint not stripped")
    story.tell(ev.AttemptFailed, point="SW-01", reason="unstable contact", run=1, number=1)
    story.read("SW-01", "4.10", reason="read twice, the same")
    story.tell(ev.RedoAsked, point="SW-01", ref=1, reason="tips cleaned")
    story.read("SW-01", "8.30")
    story.tell(ev.Amended, ref=2, reading=mohm("3.80"), verdict=Verdict.FAIL, reason="misheard")
    story.tell(ev.DiscrepancyRaised, point="SW-01", ref="NR-17")
    story.tell(ev.Reworked, point="SW-01", reason="lug cleaned", ref="NR-17")
    story.read("SW-01", "1.95", note="after torque")
    story.read("SW-02", "2.48")
    story.read("SW-03", "12.0").tell(ev.Voided, ref=5, point="SW-03", reason="wrong stud")
    story.read("SW-03", "11.0")
    story.tell(ev.Waived, point="SW-03", reason="Ivo, engineering", ref="W-3")
    story.tell(ev.NumberChecked, run=1, number=8, verdict=ev.Agreement.DIFFER, ref=7)
    story.tell(ev.Renumbered, run=1, number=9, ref=6, reason="one stored twice")
    story.read("TL-01", "1.20").read("TL-02", "1.10")
    story.tell(ev.Paused, reason="rain").tell(ev.Proceeded, after_min=40)
    story.tell(ev.NumberChecked, run=1, number=10, verdict=ev.Agreement.AGREE, ref=10)
    story.read("TL-03", "5.00", after_min=1 / 60)
    story.tell(ev.StandardRead, reading=mohm("2.9"), verdict=ev.Answer.BAD, ref=ev.CheckTime.AFTER)
    return story.tell(ev.Released, ref=7, reason="read again elsewhere")


def session() -> ReadSession:
    made = told().session()
    return replace(made, facts=replace(made.facts, criteria=CRITERIA))


def earlier() -> Earlier:
    """Three surveys, a year apart each, the newest a year before; SW-01 rises."""
    samples: dict[str, list[object]] = {}
    for years, value in ((3, "1.10"), (2, "1.30"), (1, "1.60")):
        story = Story(route_of(*POINTS, celsius=CELSIUS), STATED)
        story.time -= timedelta(days=365 * years)
        story.read("SW-01", value).read("SW-02", "2.10")
        for sample in samples_of(story.session()):
            samples.setdefault(sample.seen.point, []).append(sample)
    return Earlier(samples, 3)  # type: ignore[arg-type]
