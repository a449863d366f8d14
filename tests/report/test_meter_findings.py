"""What readings lack for their meter is an exception: its name, accuracy, calibration, fineness."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.resolving import RATIO, STEPS
from fieldtui.core.plan.route import Limit, PathLimit
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.meters import UNNAMED, format_meter
from fieldtui.core.trail import events as ev
from fieldtui.report.findings.all import Finding, Kind, find_exceptions
from fieldtui.report.html import format_html
from fieldtui.report.identity import describe_meter
from fieldtui.report.tables.facts import front_findings
from fieldtui.report.text_summary import format_summary
from tests.ui.review_fixtures import METER, START, Story, mohm, route_of

GUARDED = DecisionRule(RuleKind.GUARDED)
STATED = replace(METER, accuracy=Accuracy(Decimal("0.5"), mohm("0.02"), mohm("0.01"), Decimal(2)))
NO_METER = replace(UNNAMED, unit=Unit.MOHM)


def found(story: Story, kind: Kind) -> list[Finding]:
    return [each for each in find_exceptions(story.session()) if each.kind is kind]


def guarded(*, path: bool = False) -> Story:
    points = route_of().points
    changed = [replace(point, limit=replace(point.limit, rule=GUARDED)) for point in points[:2]]
    paths = (PathLimit("E-1", "both", ("SW-01", "SW-02"), Limit(mohm("9"), rule=GUARDED)),) if path else ()
    return Story(route_of(*changed, *points[2:], paths=paths), METER)


# --- a guard band without an accuracy (ILAC-G8:09/2019 4.2.1: the rule is to be applied and stated) --


def test_a_guard_band_that_could_not_be_applied_is_an_exception_with_its_points() -> None:
    (finding,) = found(guarded().read("SW-01", "2.49").read("SW-02", "2.99").read("HU-01", "1"), Kind.SIMPLE)
    assert finding.what.startswith("2 points are to be judged with guard band 1 U, and no accuracy is stated")
    assert finding.where == "points SW-01, SW-02"
    assert finding.remedy


def test_it_counts_only_what_judged_something() -> None:
    assert found(guarded(), Kind.SIMPLE) == []
    assert found(Story().read("SW-01", "2.49"), Kind.SIMPLE) == []  # a simple limit asks for nothing
    story = guarded().read("SW-01", "2.49").tell(ev.Voided, ref=1, point="SW-01", reason="wrong place")
    assert found(story, Kind.SIMPLE) == []
    story = guarded()
    story.instrument = STATED
    assert found(story.read("SW-01", "2.49"), Kind.SIMPLE) == []


def test_a_path_with_a_guard_band_is_counted_too() -> None:
    told = found(guarded(path=True).read("SW-01", "2.0").read("SW-02", "2.0"), Kind.SIMPLE)
    assert [(each.what[:12], each.where) for each in told] == [
        ("2 points are", "points SW-01, SW-02"), ("path E-1 is ", "points SW-01, SW-02"),
    ]  # fmt: skip


def test_what_the_verdicts_lack_stands_on_the_front_page() -> None:
    session = guarded().read("SW-01", "2.49").session()
    assert any("simple acceptance: 1 point is" in line for line in front_findings(find_exceptions(session)))
    assert "1 point is to be judged with guard band 1 U" in " ".join(format_summary(session).split())
    assert "1 point is to be judged with guard band 1 U" in format_html(session)


# --- a value at 20 C without a temperature ---------------------------------------------------------


def cold(celsius: str = "") -> Story:
    points = [replace(point, correct_to_20=True) for point in route_of().points]
    return Story(route_of(*points, celsius=Decimal(celsius) if celsius else None))


def test_a_verdict_as_measured_where_20_degrees_are_asked_for_is_an_exception() -> None:
    """2.46 passes < 2.5 as measured; from 0 C it is 2.46 / (1 - 0.00393 * 20) = 2.67 at 20 C, a failure."""
    story = cold().read("SW-01", "2.46").read("SW-02", "2.0").read("HU-02", "470u")
    (finding,) = found(story, Kind.AS_MEASURED)  # HU-02 is only recorded
    assert finding.what.startswith("2 points are to be judged at 20 °C, and no temperature was taken")
    assert finding.where == "points SW-01, SW-02"
    assert "--conductor" in finding.remedy
    session = story.session()
    assert any("judged as measured: 2 points" in line for line in front_findings(find_exceptions(session)))
    summary = " ".join(format_summary(session).split())
    assert "judged at NO TEMPERATURE TAKEN: as measured, though the route asks for 20 °C" in summary
    assert "judged as measured: 2 points are to be judged at 20 °C" in summary


def test_it_counts_only_what_was_judged_so() -> None:
    assert found(cold(), Kind.AS_MEASURED) == []
    assert found(cold("0").read("SW-01", "2.2"), Kind.AS_MEASURED) == []
    assert found(Story().read("SW-01", "2.46"), Kind.AS_MEASURED) == []  # nobody asks for 20 C
    story = cold().read("SW-01", "2.46").tell(ev.Voided, ref=1, point="SW-01", reason="wrong place")
    assert found(story, Kind.AS_MEASURED) == []
    assert "judged at" not in dict(describe_meter(Story().session()))


# --- no meter ------------------------------------------------------------------------------------


def test_a_meter_that_nobody_named_is_an_exception_that_says_what_follows() -> None:
    story = Story(instrument=NO_METER).tell(ev.RunStarted, run=1, number=1).read("SW-01", "1.0")
    (finding,) = found(story.read("SW-02", "1.0"), Kind.NO_METER)
    assert finding.what.startswith("no meter was named for 2 readings, 2 of them with a memory number")
    for lost in ("no uncertainty U", "no bracket", "memory is not known"):
        assert lost in " ".join((finding.what.replace("no calibration, ", ""),))
    assert "--meter ID" in finding.remedy
    assert found(story, Kind.CALIBRATION) == []  # that is said with it
    assert found(Story().read("SW-01", "1.0"), Kind.NO_METER) == []


def memory_told(instrument: Instrument, *, runs: bool) -> str:
    story = Story(instrument=instrument)
    if runs:
        story.tell(ev.RunStarted, run=1, number=1)
    return dict(describe_meter(story.session()))["memory"]


def test_only_a_known_meter_can_be_said_to_keep_no_memory() -> None:
    plain = replace(METER, memory_size=0)
    assert memory_told(plain, runs=False) == "the meter keeps none"
    assert memory_told(plain, runs=True) == "the meter keeps none, but the record has 1 memory run"
    for runs in (False, True):
        assert memory_told(NO_METER, runs=runs).startswith("size not known, since no meter is named")
    assert memory_told(METER, runs=True) == "holds 128 readings; 1 memory run"


# --- calibration ---------------------------------------------------------------------------------


def lapsed(due: date | None) -> Story:
    return Story(instrument=replace(METER, calibration_due=due))


def test_readings_after_the_last_day_of_the_calibration_are_an_exception() -> None:
    day = START.date()
    story = lapsed(day - timedelta(days=1)).read("SW-01", "1.0").read("SW-02", "1.0")
    (finding,) = found(story, Kind.CALIBRATION)
    assert f"lapsed on {(day - timedelta(days=1)).isoformat()}; 2 readings taken" in finding.what
    assert finding.where == "point SW-01, record 1, row 2"
    assert found(lapsed(day).read("SW-01", "1.0"), Kind.CALIBRATION) == []  # on the last day it holds
    (unknown,) = found(lapsed(None).read("SW-01", "1.0"), Kind.CALIBRATION)
    assert "no date is known" in unknown.what
    assert found(lapsed(None), Kind.CALIBRATION) == []  # nothing was read with it


def test_what_the_brief_says_of_the_calibration_is_not_said_twice() -> None:
    story = (
        lapsed(START.date() - timedelta(days=1)).brief(calibration="the other is lost").read("SW-01", "1.0")
    )
    assert found(story, Kind.CALIBRATION) == []
    assert [each.what for each in found(story, Kind.OVERRIDE)] == [
        "calibration: calibration lapsed on 2026-01-31"
    ]


def test_a_calibration_that_lapses_on_the_way_counts_from_there() -> None:
    story = lapsed(START.date()).brief().read("SW-01", "1.0")
    (finding,) = found(story.read("SW-02", "1.0", after_min=24 * 60), Kind.CALIBRATION)
    assert "1 reading taken" in finding.what
    assert "record 2" in finding.where


def test_each_meter_has_its_own_calibration() -> None:
    other = replace(METER, id="other", title="Other meter", calibration_due=date(2020, 1, 1))
    story = Story().read("SW-01", "1.0")
    story.tell(ev.MeterTaken, ref=other.id, definition=format_meter(other), reason="flat battery")
    assert found(story, Kind.CALIBRATION) == []
    (finding,) = found(story.read("SW-02", "1.0"), Kind.CALIBRATION)
    assert finding.what.startswith("Other meter, serial 0417: lapsed on 2020-01-01; 1 reading ")


# --- fineness --------------------------------------------------------------------------------------


def coarse(step: str) -> Story:
    accuracy = Accuracy(Decimal("0.1"), mohm("0.001"), mohm(step), Decimal(2))
    return Story(instrument=replace(METER, accuracy=accuracy))


def test_readings_by_a_meter_too_coarse_for_their_limits_are_an_exception() -> None:
    """The rule of ten and the ratio of four that the walk asks for; see ``core/plan/resolving``."""
    assert (STEPS, RATIO) == (10, 4)
    (finding,) = found(coarse("0.5").read("SW-01", "1.0").read("SW-02", "2.0"), Kind.COARSE)
    assert finding.what == (
        "Small bond meter, serial 0417, for 2 of 2 limits: one step is 0.5 mΩ, SW-01 allows 2.5 mΩ"
    )
    assert finding.where == "points SW-01, SW-02"
    (part,) = found(coarse("0.28").read("SW-01", "1.0").read("SW-02", "2.0"), Kind.COARSE)
    assert part.where == "point SW-01"  # 0.28 mohm is less than a tenth of 3.0, more than one of 2.5
    assert found(coarse("0.5"), Kind.COARSE) == []  # nothing was read with it
    assert found(coarse("0.01").read("SW-01", "1.0"), Kind.COARSE) == []
