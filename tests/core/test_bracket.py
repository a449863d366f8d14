"""Checks of the meter: what a failed one puts in doubt, and how a doubt ends; and failed points' papers."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.account.bracket import (
    LAST_FAILED,
    points_in_doubt,
    readings_in_doubt,
    short_takes,
    standard_due,
)
from fieldtui.core.account.discrepancies import awaiting_rework, without_discrepancy
from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.plan.tables import CheckStandard, Instrument
from fieldtui.core.survey.meter_checks import MeterCheck, doubted_runs
from fieldtui.core.survey.survey import fold
from fieldtui.core.trail import events as ev
from tests.core.walks import Walk, point

POINTS = ("SW-01", "SW-02", "SW-03", "SW-04", "SW-05", "SW-06")


def mohm(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


METER = Instrument("meter", "Meter", check_standard=CheckStandard(mohm("2.500"), mohm("0.050")))


class Checked(Walk):
    """A walk with checks of the meter in it."""

    def __init__(self, *, every: int = 0, repeats: int = 1) -> None:
        super().__init__(*(point(each, repeats=repeats) for each in POINTS), instrument=METER)
        self.survey = fold(replace(self.route, standard_every=every), METER)

    def check(self, *, good: bool) -> Checked:
        verdict = ev.Answer.GOOD if good else ev.Answer.BAD
        reading = mohm("2.51" if good else "2.61")
        self.tell(ev.StandardRead, reading=reading, verdict=verdict, ref=ev.CheckTime.INTERVAL)
        return self

    def take(self, count: int) -> Checked:
        for _ in range(count):
            self.read()
        return self

    @property
    def doubted(self) -> list[int]:
        return [each.record for each in readings_in_doubt(self.survey)]


def test_a_failed_check_reaches_back_to_the_last_good_one() -> None:
    walk = Checked().check(good=True).take(2).check(good=True).take(2).check(good=False)
    assert walk.doubted == [3, 4]
    (first, _) = readings_in_doubt(walk.survey)
    assert first.point == "SW-03"
    assert "the last good one was before record 3" in first.why


def test_without_any_good_check_all_are_in_doubt() -> None:
    walk = Checked().take(3).check(good=False)
    assert walk.doubted == [1, 2, 3]
    assert "no good one" in readings_in_doubt(walk.survey)[0].why


def test_readings_after_a_failed_check_are_in_doubt_until_a_good_one() -> None:
    walk = Checked().check(good=True).take(1).check(good=False).take(2)
    assert walk.doubted == [1, 2, 3]
    walk.check(good=True).take(1).check(good=True)
    assert walk.doubted == [1, 2, 3]


def test_a_good_brief_is_a_good_check_and_an_overridden_one_is_none() -> None:
    for verdict, doubted in ((ev.Answer.GOOD, [2]), (ev.Answer.OVERRIDE, [1, 2])):
        walk = Checked()
        walk.tell(ev.Briefed, ref="check standard", verdict=verdict, reading=mohm("2.5"), reason="x")
        if verdict is ev.Answer.GOOD:
            walk.take(1).check(good=True).take(1)
        else:
            walk.take(2)
        assert walk.check(good=False).doubted == doubted


def test_an_overridden_standard_of_the_brief_puts_all_in_doubt_until_a_good_check() -> None:
    walk = Checked()
    walk.tell(ev.Briefed, ref="check standard", verdict=ev.Answer.OVERRIDE, reading=mohm("2.61"), reason="x")
    assert walk.problems == []
    assert standard_due(walk.survey) == LAST_FAILED
    assert walk.take(2).doubted == [1, 2]
    assert points_in_doubt(walk.survey) == {"SW-01", "SW-02"}
    assert readings_in_doubt(walk.survey)[0].why == "taken after a failed check of the meter"
    assert walk.check(good=True).take(1).check(good=True).doubted == [1, 2]
    assert standard_due(walk.survey) == ""


@pytest.mark.parametrize(
    ("item", "reading"), [("calibration", None), ("check standard", None), ("battery", None)]
)
def test_an_override_that_is_not_about_the_value_of_the_standard_doubts_nothing(
    item: str, reading: Resistance | None
) -> None:
    walk = Checked()
    walk.tell(ev.Briefed, ref=item, verdict=ev.Answer.OVERRIDE, reading=reading, reason="paper on its way")
    assert walk.take(2).doubted == []
    assert walk.survey.checks == ()


def test_a_doubt_ends_with_a_release_a_void_or_a_retest() -> None:
    walk = Checked().check(good=True).take(3).check(good=False)
    walk.tell(ev.Released, ref=1, reason="read again with another meter, the same")
    walk.void(2)
    walk.redo("SW-03")
    assert walk.doubted == [3]
    walk.read("1.10", at="SW-03")
    assert walk.doubted == [3, 4]  # the retest itself follows a failed check
    assert walk.check(good=True).doubted == [3, 4]
    walk.redo("SW-03")
    walk.read("1.10", at="SW-03")
    assert walk.doubted == []
    assert walk.problems == []


@pytest.mark.parametrize("size", [2, 3])
def test_half_a_take_with_a_good_meter_ends_no_doubt(size: int) -> None:
    walk = Checked(repeats=size).check(good=True).take(size).check(good=False).check(good=True)
    doubted = list(range(1, size + 1))
    walk.redo("SW-01")
    for _ in range(size - 1):
        walk.read("1.10", at="SW-01")
        assert walk.doubted == doubted
    walk.skip("SW-01")
    assert walk.doubted == doubted
    assert points_in_doubt(walk.survey) == {"SW-01"}
    walk.read("1.10", at="SW-01")
    assert walk.doubted == []
    assert points_in_doubt(walk.survey) == frozenset()


def test_a_take_with_one_reading_of_the_bad_meter_replaces_nothing_and_is_in_doubt_itself() -> None:
    walk = Checked(repeats=2).check(good=True).take(2).redo("SW-01").read("1.10", at="SW-01")
    assert isinstance(walk, Checked)
    walk.check(good=False).check(good=True).read("1.20", at="SW-01")
    assert walk.doubted == [1, 2, 3]  # the fourth was taken after a good check
    assert points_in_doubt(walk.survey) == {"SW-01"}
    walk.redo("SW-01").read("1.10", at="SW-01").read("1.10", at="SW-01")
    assert walk.doubted == []


def test_a_take_that_lacks_a_reading_is_named_wherever_it_is_left() -> None:
    walk = Checked(repeats=2).take(2)
    assert list(short_takes(walk.survey)) == []
    walk.read("1.30", at="SW-02")
    assert list(short_takes(walk.survey)) == []  # it is being taken
    walk.redo("SW-02").read("1.40", at="SW-02").read("1.40", at="SW-02")
    walk.redo("SW-01").read("1.50", at="SW-01")
    assert [(point, [r.record for r in taken]) for point, taken in short_takes(walk.survey)] == [
        ("SW-01", [6]), ("SW-02", [3]),
    ]  # fmt: skip


def test_a_release_of_what_is_not_there_has_no_effect() -> None:
    walk = Checked().tell(ev.Released, ref=7, reason="x")
    assert walk.problems == ["record 7 does not exist at this row"]


def test_a_check_is_due_after_a_failed_one_a_new_lead_and_at_intervals() -> None:
    walk = Checked(every=2).check(good=True)
    assert standard_due(walk.survey) == ""
    assert standard_due(walk.take(1).survey) == ""
    assert standard_due(walk.take(1).survey) == "2 readings since the last check"
    assert standard_due(walk.check(good=True).survey) == ""
    walk.tell(ev.LeadChanged, reason="clip broke")
    assert standard_due(walk.survey) == "lead or tips were changed"
    assert standard_due(walk.check(good=False).survey) == "the last check of the meter failed"
    assert standard_due(fold(walk.route, Instrument("other", "No standard"), walk.events)) == ""


@given(st.lists(st.tuples(st.integers(0, 4), st.booleans()), max_size=6), st.integers(0, 4))
def test_a_record_is_in_doubt_where_it_is_not_between_two_good_checks_and_one_failed(
    told: list[tuple[int, bool]], after: int
) -> None:
    checks: list[MeterCheck] = []
    for taken, is_good in told:
        checks.append(MeterCheck(len(checks), (checks[-1].after if checks else 0) + taken, is_good))
    last = (checks[-1].after if checks else 0) + after
    found = {n for run in doubted_runs(checks, last) for n in range(run.first, run.last + 1)}
    for record in range(1, last + 1):
        before = [check for check in checks if check.after < record]
        later = [check for check in checks if check.after >= record]
        beside = before[-1:] + later[:1]
        assert (record in found) == any(not check.is_good for check in beside)


# --- failed points -------------------------------------------------------------------------------


def test_a_failed_point_is_listed_until_its_paper_is_noted() -> None:
    walk = Walk(*POINTS).read("9.9").read("1.0")
    assert [each.id for each in without_discrepancy(walk.survey)] == ["SW-01"]
    walk.tell(ev.DiscrepancyRaised, point="SW-01", ref="D-17")
    assert without_discrepancy(walk.survey) == ()
    assert [each.id for each in awaiting_rework(walk.survey)] == ["SW-01"]
    walk.tell(ev.Reworked, point="SW-01", reason="lug cleaned", ref="")
    walk.read("1.2", at="SW-01")
    assert walk.standing("SW-01").discrepancy == "D-17"
    assert awaiting_rework(walk.survey) == without_discrepancy(walk.survey) == ()
    found, left = walk.standing("SW-01").as_found, walk.standing("SW-01").as_left
    assert found is not None
    assert left is not None
    assert (found.value, left.value) == (mohm("9.9"), mohm("1.2"))


def test_a_rework_without_a_paper_is_listed_even_when_its_retest_passes() -> None:
    walk = Walk(*POINTS).read("9.9").tell(ev.Reworked, point="SW-01", reason="lug cleaned")
    walk.read("1.2", at="SW-01")
    assert [each.id for each in without_discrepancy(walk.survey)] == ["SW-01"]


def test_a_waiver_wants_an_authority_and_a_paper() -> None:
    for reason, ref in product(("", "chief inspector"), ("", "W-3")):
        walk = Walk(*POINTS).read("9.9").tell(ev.Waived, point="SW-01", reason=reason, ref=ref)
        is_whole = bool(reason and ref)
        assert walk.state("SW-01") == ("waived" if is_whole else "failed")
        assert bool(walk.problems) != is_whole


def test_doubts_are_worked_out_once_a_state_and_anew_in_the_next() -> None:
    walk = Checked().take(3).check(good=False)
    before = walk.survey
    assert readings_in_doubt(before) is readings_in_doubt(before)
    assert points_in_doubt(before) is points_in_doubt(before)
    walk.take(1)
    assert [each.record for each in readings_in_doubt(walk.survey)] == [1, 2, 3, 4]
    assert points_in_doubt(walk.survey) == {"SW-01", "SW-02", "SW-03", "SW-04"}
    assert points_in_doubt(before) == {"SW-01", "SW-02", "SW-03"}
