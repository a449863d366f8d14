"""At the desk: checks of the meter, failed points' papers, doubtful values, verdicts that lack something."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from fieldtui.core.account.bracket import readings_in_doubt, standard_due
from fieldtui.core.account.discrepancies import without_discrepancy
from fieldtui.core.doubts import DoubtKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.trail import events as ev
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.verifying import verify_session
from fieldtui.errors import BadInputError, WrongUseError
from tests.desk.scenes import BRIEF, METER, ROUTE, Scene, record


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path)


def last(scene: Scene, desk: Desk) -> ev.Event:
    return scene.events(desk)[-1]


def route_with(scene: Scene, more: str, old: str = "check_every = 4\n") -> None:
    text = ROUTE.replace(old, old + more, 1)
    (scene.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")


# --- the meter -----------------------------------------------------------------------------------


def test_a_failed_check_lists_readings_until_they_are_released_or_taken_again(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1", "1.2")
        assert desk.check_standard("2.47") is ev.Answer.GOOD
        record(desk, "1.3", "1.3", "1.3")
        assert desk.check_standard("2.56", is_last=True) is ev.Answer.BAD
        event = last(scene, desk)
        assert isinstance(event, ev.StandardRead)
        assert (event.ref, event.verdict, event.reading.digits) == (ev.CheckTime.AFTER, ev.Answer.BAD, "2.56")
        assert "not within" in event.note
        assert [each.record for each in readings_in_doubt(desk.survey)] == [3, 4, 5]
        desk.release(4, "held against another meter")
        assert [each.record for each in readings_in_doubt(desk.survey)] == [3, 5]
        with pytest.raises(WrongUseError, match="not in doubt"):
            desk.release(4, "again")
    survey = read_session(scene.disk, desk.folder).survey
    assert survey == desk.survey
    assert verify_session(scene.disk, desk.folder).ok


def test_the_first_check_is_the_one_before(scene: Scene) -> None:
    with scene.begin() as desk:
        desk.check_standard("2.5")
        event = last(scene, desk)
        assert isinstance(event, ev.StandardRead)
        assert event.ref is ev.CheckTime.BEFORE


def test_a_meter_without_a_standard_cannot_be_checked(scene: Scene) -> None:
    with scene.begin(replace(BRIEF, instrument=replace(METER, check_standard=None), standard=None)) as desk:
        with pytest.raises(WrongUseError, match="no check standard"):
            desk.check_standard("2.5")
        assert scene.kinds(desk)[-1] != "standard"


def test_a_new_lead_is_told_with_a_reason(scene: Scene) -> None:
    with scene.begin() as desk:
        desk.lead_changed("clip broke")
        assert scene.kinds(desk)[-1] == "lead"
        with pytest.raises(BadInputError):
            desk.lead_changed(" ")


# --- failed points -------------------------------------------------------------------------------


def test_from_a_failed_point_to_its_retest(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "3.1")
        assert [point.id for point in without_discrepancy(desk.survey)] == ["SW-01"]
        with pytest.raises(WrongUseError, match="No discrepancy is noted"):
            desk.rework("SW-01", "lug cleaned")
        desk.discrepancy("SW-01", "D-17")
        assert without_discrepancy(desk.survey) == ()
        desk.rework("SW-01", "lug cleaned")
        event = last(scene, desk)
        assert isinstance(event, ev.Reworked)
        assert (event.ref, event.reason) == ("D-17", "lug cleaned")
        desk.jump("SW-01")
        record(desk, "1.1")
        standing = desk.survey.standings["SW-01"]
        assert standing.as_found is not None
        assert standing.as_left is not None
        assert (standing.as_found.value.digits, standing.as_left.value.digits) == ("3.1", "1.1")
        assert standing.as_left.last.retest


@pytest.mark.parametrize(
    "deed",
    [
        lambda desk: desk.discrepancy("XX-9", "D-1"),
        lambda desk: desk.discrepancy("SW-01", ""),
        lambda desk: desk.rework("XX-9", "cleaned", "D-1"),
        lambda desk: desk.rework("SW-01", "", "D-1"),
        lambda desk: desk.waive("SW-01", "", "W-1"),
        lambda desk: desk.waive("SW-01", "chief inspector", ""),
        lambda desk: desk.release(1, "nothing there"),
    ],
)
def test_what_is_refused_leaves_no_row(scene: Scene, deed: Callable[[Desk], Any]) -> None:
    with scene.begin() as desk:
        before = scene.kinds(desk)
        with pytest.raises((BadInputError, WrongUseError)):
            deed(desk)
        assert scene.kinds(desk) == before


# --- doubtful values -----------------------------------------------------------------------------


def test_a_doubtful_value_wants_a_reason_which_is_on_record_and_moves_no_number(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.38")
    scene.clock.tick(86_400)
    with scene.begin() as desk:
        entry = desk.weigh("13.8")
        (doubt,) = entry.doubts
        assert (doubt.kind, doubt.likely) == (DoubtKind.SLIP, Resistance(Decimal("1.38"), Unit.MOHM))
        rows = scene.kinds(desk)
        with pytest.raises(WrongUseError, match="decimal moved"):
            desk.record(entry)
        assert scene.kinds(desk) == rows
        desk.record(entry, "read twice, the same")
        event = last(scene, desk)
        assert isinstance(event, ev.ReadingTaken)
        assert (event.reading.digits, event.reason, event.number) == ("13.8", "read twice, the same", 1)
        assert desk.survey.next_number == 2
        assert "renumber" not in scene.kinds(desk)


# --- what a verdict rests on ---------------------------------------------------------------------


def test_a_decision_rule_without_an_accuracy_blocks_the_walk_until_it_is_overridden(scene: Scene) -> None:
    route_with(scene, 'decision = "four-state"\n')
    with pytest.raises(WrongUseError, match="four-state, and no accuracy is known for this meter"):
        scene.begin()
    brief = replace(BRIEF, overrides={"decision rule": "agreed with the customer"})
    with scene.begin(brief) as desk:
        told = [event for event in scene.events(desk) if isinstance(event, ev.Briefed)]
        assert (told[-1].ref, told[-1].verdict) == ("decision rule", ev.Answer.OVERRIDE)
        assert "by simple acceptance" in told[-1].note
        record(desk, "2.49")
        assert desk.survey.records[1].verdict.value == "pass"
    accuracy = Accuracy(Decimal(0), Resistance(Decimal("0.10"), Unit.MOHM))
    with scene.begin(replace(BRIEF, instrument=replace(METER, accuracy=accuracy))) as desk:
        record(desk, "2.49")
        assert desk.survey.records[1].verdict.value == "conditional pass"
    assert verify_session(scene.disk, desk.folder).ok


def test_values_at_20_want_a_temperature(scene: Scene) -> None:
    route_with(scene, "correct_to_20 = true\n")
    with pytest.raises(WrongUseError, match="no temperature was taken"):
        scene.begin()
    with scene.begin(replace(BRIEF, ambient_c=Decimal(12), conductor_c=Decimal(35))) as desk:
        record(desk, "2.600")
        assert desk.survey.records[1].verdict.value == "pass"  # 2.455 at 20 C
        assert desk.survey.records[1].reading.digits == "2.600"
    read = read_session(scene.disk, desk.folder)
    assert read.survey == desk.survey
    assert (read.facts.ambient_c, read.facts.conductor_c) == (Decimal(12), Decimal(35))


@pytest.mark.parametrize(
    ("limit", "verdict"), [("< 2.5 mohm", "fail"), ("<= 2.5 mohm", "fail"), ("record only", "recorded")]
)
def test_an_unplanned_point_has_the_decision_rule_of_its_route(
    scene: Scene, limit: str, verdict: str
) -> None:
    route_with(scene, 'decision = "guarded"\n')
    accuracy = Accuracy(Decimal(0), Resistance(Decimal("0.10"), Unit.MOHM))
    with scene.begin(replace(BRIEF, instrument=replace(METER, accuracy=accuracy))) as desk:
        point = desk.insert("Spare strap", limit, "seen")
        record(desk, "2.45")  # meets the limit, but not by the guard band
        assert desk.survey.standings[point].as_left.verdict.value == verdict  # type: ignore[union-attr]
    assert read_session(scene.disk, desk.folder).survey == desk.survey
    assert verify_session(scene.disk, desk.folder).ok


def test_an_unplanned_point_is_corrected_and_taken_again_like_the_one_beside_it(scene: Scene) -> None:
    limit = 'limit = { max = 2.5, cmp = "<" }'
    text = ROUTE.replace(limit, f"{limit}\nretest = {{ max = 2.0 }}")
    text = text.replace("check_every = 4", "check_every = 4\ncorrect_to_20 = true", 1)
    (scene.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    with scene.begin(replace(BRIEF, conductor_c=Decimal(35))) as desk:
        point = desk.insert("Spare strap", "< 2.5 mohm", "seen")
        record(desk, "2.600")
        assert desk.survey.records[1].verdict.value == "pass"  # 2.455 at 20 C
        desk.rework(point, "lug cleaned", "D-1")
        desk.jump(point)
        record(desk, "2.300")  # 2.172 at 20 C, against the limit after rework
        assert desk.survey.records[2].verdict.value == "fail"
    assert verify_session(scene.disk, desk.folder).ok


# --- the meter filed what it read on its standard -------------------------------------------------


def test_a_filed_check_of_the_standard_moves_the_memory_on_and_an_unannounced_one_wants_a_number_check(
    scene: Scene,
) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        with pytest.raises(WrongUseError, match="cannot be filed under 5: 2 is next"):
            desk.check_standard("2.5", number=5)
        desk.check_standard("2.5", number=2)
        assert desk.survey.next_number == 3
        assert desk.survey.check_due == "after the check standard"
        record(desk, "1.2")
        assert desk.survey.records[2].number == 3
    assert read_session(scene.disk, desk.folder).survey == desk.survey
    assert verify_session(scene.disk, desk.folder).ok


def test_the_meter_s_own_interval_counts_where_it_is_the_shorter_one(scene: Scene) -> None:
    route_with(scene, "standard_every = 3\n")
    for own, due_after in ((2, 2), (5, 3), (0, 3)):
        with scene.begin(replace(BRIEF, instrument=replace(METER, standard_every=own))) as desk:
            for taken in range(1, 4):
                record(desk, f"1.{taken}")
                assert bool(standard_due(desk.survey)) is (taken >= due_after), (own, taken)
        assert read_session(scene.disk, desk.folder).facts.instrument.standard_every == own
