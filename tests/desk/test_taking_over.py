"""What is taken over from a memory list, and which runs it settles: only what was compared."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.account.closing import left_undone
from fieldtui.core.drift.explanations import Kind as Explained
from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.measurement.voltage import VoltUnit, voltage_reading
from fieldtui.core.pairing.alignment import Finding, MemoryEntry
from fieldtui.core.survey.memory import LOWERED_BY_LIST
from fieldtui.desk.explaining import explain_numbers
from fieldtui.desk.held_back import missing_ends
from fieldtui.desk.reading import read_session
from fieldtui.desk.reconcile_words import chance_words, format_findings, tell
from fieldtui.desk.reconciling import Covered, cover, currents_of, reconcile
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.taking_over import (
    Correction,
    corrections,
    corrections_of,
    leave_as_it_is,
    settled_runs,
    take_over,
    take_over_one,
    unsettled,
)
from fieldtui.errors import WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.report.findings.all import Kind, find_exceptions
from tests.desk.scenes import BRIEF, ROUTE, Scene, record

VALUES = ("1.38", "1.02", "0.871", "1.55", "2.13")
MORE = ("3.31m", "1.92")  # the first at a point read in ohm


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path)


@pytest.fixture
def desk(scene: Scene) -> Desk:
    """Five readings in run 1."""
    desk = scene.begin()
    record(desk, *VALUES)
    return desk


def listed(*values: str, run: int | None = 1, first: int = 1) -> list[MemoryEntry]:
    return [
        MemoryEntry(run, at, parse_resistance(value, Unit.MOHM)) for at, value in enumerate(values, first)
    ]


def with_run_2(desk: Desk) -> Desk:
    desk.start_run(1, "memory full")
    record(desk, *MORE)
    return desk


def taken(desk: Desk, memory: list[MemoryEntry], named: int | None = None) -> int:
    covered = cover(desk.survey, memory, named)
    return take_over(desk, reconcile(desk.survey, covered.memory, covered.runs), covered.memory, "list.csv")


def kinds(scene: Scene, desk: Desk) -> list[str]:
    return [kind for kind in scene.kinds(desk) if kind in ("unfiled", "amend", "renumber", "reconcile")]


# --- which runs are settled ---------------------------------------------------------------


def test_a_list_that_pairs_with_nothing_settles_nothing_and_takes_no_number_away(
    scene: Scene, desk: Desk
) -> None:
    """Fewer than five entries are too few to call the list another session's."""
    memory = listed("31.4", "47.2", "55.1")
    pairing = reconcile(desk.survey, memory, {1})
    assert not pairing.pairs and pairing.record_only
    assert taken(desk, memory) == 0
    assert kinds(scene, desk) == []
    assert unsettled(desk.survey, pairing) == {1: "none of its readings was paired with the list"}


def test_a_run_that_was_compared_is_settled_and_the_other_is_not(scene: Scene, desk: Desk) -> None:
    taken(with_run_2(desk), listed(*VALUES))
    assert desk.survey.reconciled == {1}
    assert kinds(scene, desk) == ["reconcile"]


def test_the_crew_settles_a_run_of_which_the_meter_kept_nothing(desk: Desk) -> None:
    """One by one: no list can show it. Nothing is settled while a reading has its number."""
    memory = listed("31.4")
    for number in range(1, 5):
        take_over_one(desk, [one_not_kept(number)], "the memory was off")
    pairing = reconcile(desk.survey, memory, {1})
    assert settled_runs(desk.survey, pairing, decided=range(1, 5)) == []
    take_over_one(desk, [one_not_kept(5)], "the memory was off")
    assert settled_runs(desk.survey, pairing, decided=range(1, 6)) == [1]


def one_not_kept(number: int) -> Correction:
    return Correction(number, "not kept")


# --- which run the list is of -------------------------------------------------------------


def test_a_label_of_the_lists_own_is_taken_for_the_only_run_and_that_is_said(desk: Desk) -> None:
    covered = cover(desk.survey, listed(*VALUES, run=7))
    pairing = reconcile(desk.survey, covered.memory, covered.runs)
    assert {pair.run for pair in pairing.pairs} == {1} and covered.label == 7
    told = tell(desk.survey, pairing, covered)
    assert told.notes == ("the list says run 7; that is taken to mean run 1",)
    assert cover(desk.survey, listed(*VALUES)).label is None


def test_a_label_that_may_mean_either_run_is_asked_about_by_its_name(desk: Desk) -> None:
    with_run_2(desk)
    with pytest.raises(WrongUseError, match="The list says run 7; this session has runs 1, 2") as caught:
        cover(desk.survey, listed(*VALUES, run=7))
    assert "--run" in caught.value.remedy
    assert cover(desk.survey, listed(*VALUES, run=7), 1).label == 7
    with pytest.raises(WrongUseError, match="The list says runs 7, 8; this session has runs 1, 2"):
        cover(desk.survey, listed(*VALUES, run=7) + listed(*MORE, run=8), 1)
    with pytest.raises(WrongUseError, match="does not say which memory run it is of"):
        cover(desk.survey, listed(*VALUES, run=None))


def test_a_run_named_against_what_the_list_says_is_refused(scene: Scene, desk: Desk) -> None:
    with_run_2(desk)
    with pytest.raises(WrongUseError, match="The list says run 2, not run 1") as caught:
        taken(desk, listed(*MORE, run=2), 1)
    assert "compare it with run 2" in caught.value.remedy
    assert kinds(scene, desk) == []
    taken(desk, listed(*VALUES) + listed(*MORE, run=2), 2)  # of a list of both, the one that is named
    assert desk.survey.reconciled == {2}


# --- a list that ends early ---------------------------------------------------------------


def test_what_a_list_ends_before_is_taken_over_by_nobody_but_the_crew(scene: Scene, desk: Desk) -> None:
    memory = listed("1.38", "1.20", "0.871")
    pairing = reconcile(desk.survey, memory, {1})
    assert missing_ends(desk.survey, pairing) == {1: [4, 5]}
    assert [(each.record, each.what) for each in corrections(desk.survey, pairing)] == [(2, "value")]
    assert taken(desk, memory) == 1
    assert kinds(scene, desk) == ["amend"]  # the next reading keeps its number, and the run is not settled
    assert "decide on those readings one by one" in unsettled(desk.survey, pairing)[1]
    told = tell(desk.survey, pairing, Covered(memory, frozenset({1})))
    assert told.notes[0] == "the list ends before records 4 to 5, the last of memory run 1: is it whole?"
    assert "record 5: not in the memory; the list ends before it" in list(format_findings(told))

    take_over_one(desk, [one_not_kept(4)], "looked up on the meter")
    assert taken(desk, memory) == 0  # the last one is the crew's to say, too
    take_over_one(desk, [one_not_kept(5)], "looked up on the meter")
    taken(desk, memory)
    assert desk.survey.reconciled == {1}
    assert desk.survey.run is not None and desk.survey.run.next_number == 4


def test_the_last_reading_alone_is_asked_about_too(scene: Scene, desk: Desk) -> None:
    """A list that ends one line too early would move every later number by one."""
    memory = listed(*VALUES[:4])
    pairing = reconcile(desk.survey, memory, {1})
    assert missing_ends(desk.survey, pairing) == {1: [5]}
    assert corrections(desk.survey, pairing) == [] and settled_runs(desk.survey, pairing) == []
    told = tell(desk.survey, pairing, Covered(memory, frozenset({1})))
    assert told.notes == ("the list ends before record 5, the last of memory run 1: is it whole?",)
    assert taken(desk, memory) == 0
    assert kinds(scene, desk) == [] and desk.survey.next_number == 6


def test_the_next_number_stays_where_the_crew_saw_the_last_entry_on_the_meter(
    scene: Scene, desk: Desk
) -> None:
    memory = listed("1.38", "1.20", "0.871", "1.55")
    pairing = reconcile(desk.survey, memory, {1})
    leave_as_it_is(desk, 5, "list.csv")
    assert settled_runs(desk.survey, pairing, decided=[5]) == [1]
    assert unsettled(desk.survey, pairing, decided=[5]) == {}
    take_over(desk, pairing, memory, "list.csv", decided=[5])
    assert kinds(scene, desk) == ["amend", "reconcile"]
    assert desk.survey.next_number == 6 and desk.survey.reconciled == {1}


def test_a_next_number_that_a_list_alone_lowers_is_to_be_checked(scene: Scene, desk: Desk) -> None:
    """Also once the session is opened again: it follows from the rows. A check that differs leads back."""
    memory = listed(*VALUES[:4])
    take_over_one(desk, [one_not_kept(5)], "looked up on the meter")
    taken(desk, memory)
    assert kinds(scene, desk) == ["unfiled", "renumber", "reconcile"] and desk.survey.next_number == 5
    assert desk.survey.check_due == LOWERED_BY_LIST
    assert read_session(Disk(), desk.folder).survey.check_due == LOWERED_BY_LIST
    assert LOWERED_BY_LIST in [item.what.partition(": ")[2] for item in left_undone(desk.survey)]
    (way,) = [way for way in explain_numbers(desk.survey, 5) if way.kind is Explained.TAKEN_BACK]
    assert way.probability > 0.5
    desk.check_number(4)
    assert desk.survey.check_due == ""
    assert LOWERED_BY_LIST not in [item.what.partition(": ")[2] for item in left_undone(desk.survey)]


def test_a_check_that_contradicts_a_list_which_lowered_the_number_takes_its_settling_back(desk: Desk) -> None:
    """The list lacked a line: what it moved on the way is to be looked at once more, with the whole list."""
    take_over_one(desk, [one_not_kept(5)], "looked up on the meter")
    taken(desk, listed(*VALUES[:4]))
    assert desk.survey.reconciled == {1}
    desk.check_number(5)
    assert desk.survey.out_of_step and desk.survey.reconciled == frozenset()
    assert "memory run 1: not reconciled" in [item.what for item in left_undone(desk.survey)]
    assert read_session(Disk(), desk.folder).survey.reconciled == frozenset()


def test_over_an_undecided_end_the_list_is_followed_and_checked(scene: Scene) -> None:
    """Two alike in the end and one entry: either was not kept, or the list lacks its last line."""
    desk = scene.begin()
    record(desk, *VALUES[:4], "1.55")
    taken(desk, listed(*VALUES[:4]))
    assert kinds(scene, desk) == ["renumber", "reconcile"] and desk.survey.undecided == {1: 3}
    assert desk.survey.next_number == 5 and desk.survey.check_due == LOWERED_BY_LIST


def test_a_next_number_that_a_list_raises_or_the_crew_read_out_is_not(desk: Desk) -> None:
    taken(desk, listed(*VALUES, "9.4"))
    assert desk.survey.next_number == 7 and desk.survey.check_due == ""
    desk.check_number(4)
    desk.renumber(5, "two were never kept")
    assert desk.survey.check_due == ""


def test_no_number_of_a_list_that_goes_up_and_down_becomes_the_next_one(scene: Scene, desk: Desk) -> None:
    memory = listed(*VALUES)
    memory[2] = MemoryEntry(1, 13, memory[2].reading)
    assert taken(desk, memory) == 0
    assert kinds(scene, desk) == ["reconcile"]


# --- what a run that is settled settles ---------------------------------------------------


def number_findings(desk: Desk) -> list[str]:
    found = find_exceptions(read_session(Disk(), desk.folder))
    return [each.what for each in found if each.kind is Kind.NUMBER]


def test_a_reconciled_run_leaves_no_reading_unchecked(desk: Desk) -> None:
    assert number_findings(desk) == ["5 readings since the memory numbers were last known to agree"]
    taken(desk, listed(*VALUES))
    assert number_findings(desk) == []
    record(desk, MORE[0])  # read on: it no longer is
    assert number_findings(desk) == [
        "6 readings since the memory numbers were last known to agree",
        "memory run 1 was reconciled and got further entries afterwards: it no longer is",
    ]


# --- voltages -----------------------------------------------------------------------------


@pytest.fixture
def volts(tmp_path: Path) -> Desk:
    """Two voltages at SW-01, then a resistance."""
    scene = Scene(tmp_path)
    reversed_pair = 'limit = { max = 2.5, cmp = "<" }\nmethod = "reversed"\ncurrent_ma = 100\n'
    text = ROUTE.replace('limit = { max = 2.5, cmp = "<" }\n', reversed_pair)
    (tmp_path / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    desk = scene.begin(BRIEF)
    record(desk, "0.220", "-0.200", "1.38", "1.02", "0.871")
    return desk


def volt_entry(number: int, value: str) -> MemoryEntry:
    return MemoryEntry(1, number, voltage_reading(Decimal(value), VoltUnit.MILLIVOLT, Decimal(100)))


def test_a_list_without_voltages_does_not_say_that_they_were_not_kept(volts: Desk) -> None:
    memory = listed("1.38", "1.02", "0.871", first=3)
    pairing = reconcile(volts.survey, memory, {1})
    assert {pair.record for pair in pairing.pairs} == {3, 4, 5}
    assert pairing.not_compared == (1, 2) and not pairing.record_only
    notes = tell(volts.survey, pairing, Covered(memory, frozenset({1}))).notes
    assert notes == ("records 1, 2 not compared: voltages, and the list has none",)
    assert taken(volts, memory) == 0
    assert [volts.survey.records[each].number for each in (1, 2)] == [1, 2]


def test_the_end_of_a_list_without_voltages_is_not_that_of_a_run_that_ends_with_them(
    tmp_path: Path,
) -> None:
    scene = Scene(tmp_path)
    last = 'title = "Tank vent"\nlimit = { max = 3.0, cmp = "<=" }\n'
    text = ROUTE.replace(last, f'{last}method = "reversed"\ncurrent_ma = 100\n')
    (tmp_path / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    desk = scene.begin(BRIEF)
    record(desk, "1.38", "0.220", "-0.200")
    taken(desk, listed("1.38"))
    assert kinds(scene, desk) == ["reconcile"]
    assert desk.survey.run is not None and desk.survey.run.next_number == 4


def test_a_list_with_voltages_is_compared_by_size_and_sign(volts: Desk) -> None:
    memory = [volt_entry(1, "0.220"), volt_entry(2, "-0.200"), *listed("1.38", "1.02", "0.871", first=3)]
    pairing = reconcile(volts.survey, memory, {1})
    assert {pair.finding for pair in pairing.pairs} == {Finding.SAME} and len(pairing.pairs) == 5
    memory[1] = volt_entry(2, "0.200")  # the minus was keyed, and the meter shows none
    pairing = reconcile(volts.survey, memory, {1})
    assert [pair.record for pair in pairing.pairs if pair.finding is Finding.KEYED_DIFFERENTLY] == [2]
    assert taken(volts, memory) == 1
    assert str(volts.survey.records[2].reading).startswith("0.200 mV")


def test_a_list_with_voltages_says_which_was_not_kept(volts: Desk) -> None:
    memory = [volt_entry(1, "-0.200"), *listed("1.38", "1.02", "0.871", first=2)]
    pairing = reconcile(volts.survey, memory, {1})
    assert pairing.not_compared == ()
    assert [each.record for each in pairing.record_only] == [1]


def test_a_voltage_in_the_list_is_no_value_for_a_reading_in_ohm(volts: Desk) -> None:
    memory = [volt_entry(1, "0.220"), volt_entry(2, "-0.200"), volt_entry(3, "0.183")]
    memory += listed("1.02", "0.871", first=4)  # 1.83 mohm by size, and 1.38 on record
    pairing = reconcile(volts.survey, memory, {1})
    (pair,) = [pair for pair in pairing.pairs if pair.record == 3]
    assert pair.finding is Finding.KEYED_DIFFERENTLY
    assert corrections_of(volts.survey, pair) == []
    assert currents_of(volts.survey) == [Decimal(100)]


# --- words --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.62, "62 %"),
        (0.004, "0.4 %"),
        (0.996, "99.6 %"),
        (0.9997, "99.97 %"),
        (0.0003, "0.03 %"),
        (1.0, ">99.99999 %"),
        (0.0, "<0.00001 %"),
    ],
)
def test_a_chance_is_never_told_as_all_or_nothing(chance: float, words: str) -> None:
    assert chance_words(chance) == words
