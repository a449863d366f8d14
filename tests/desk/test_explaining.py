"""Numbers that differ: what is offered for them, and what goes back on an answer that was wrong.

Of calls, 3.5 % are misheard (Barenfanger 2004); how often a memory is not cleared, or an answer wrong, has no
source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from fieldtui.core.account.closing import Group, closing_items
from fieldtui.core.drift.explanations import Change, Explanation, Kind
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.trail.events import Agreement, Renumbered
from fieldtui.desk.reading import read_session
from fieldtui.desk.reconciling import reconcile
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.taking_over import take_over
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui.widgets.drift_words import change_in_words
from tests.desk.scenes import QuickDisk
from tests.ui.walking import METER, begin_desk, route_text

VALUES = [f"{1 + n / 50:.2f}" for n in range(40)]
Begin = Callable[..., Desk]
ROOMY = replace(METER, memory_size=500)


@pytest.fixture
def begin(tmp_path: Path) -> Begin:
    def begun(readings: int, *, meter: Instrument = ROOMY, next_number: int = 1) -> Desk:
        folder = tmp_path / f"{len([*tmp_path.iterdir()])}"
        (folder / "routes").mkdir(parents=True)
        (folder / "routes" / "wing.toml").write_text(route_text(40), encoding="utf-8")
        desk = begin_desk(Workspace(folder, QuickDisk()), meter=meter, next_number=next_number)
        read(desk, readings)
        return desk

    return begun


def read(desk: Desk, count: int) -> None:
    for _ in range(count):
        desk.record(desk.weigh(VALUES[len(desk.survey.records)]), "read back")


def filed(desk: Desk) -> list[tuple[int | None, int | None]]:
    return [(each.run, each.number) for each in desk.survey.records.values()]


def call(desk: Desk, number: int) -> dict[Kind, Explanation]:
    """A number check that differs, and what is offered for it by kind, the likeliest first."""
    assert desk.check_number(number) is Agreement.DIFFER
    return {each.kind: each for each in desk.explain_numbers(number)}


def follow(desk: Desk, explanation: Explanation, change: Change | None = None) -> None:
    is_restarted = explanation.kind is Kind.RESTARTED
    desk.follow_explanation(change or explanation.changes[0], "so it was", restarted=is_restarted)


def likeliest(found: dict[Kind, Explanation]) -> Explanation:
    return next(iter(found.values()))


def leave(desk: Desk) -> None:
    """What is on the disk makes the same survey, and nothing in it contradicts the rest."""
    assert desk.survey.problems == ()
    again = read_session(Disk(), desk.folder).survey
    assert again == desk.survey
    desk.leave()


# --- misheard -----------------------------------------------------------------------------


def test_a_number_that_looks_like_no_slip_is_misheard_rather_than_a_memory_that_began_anew(
    begin: Begin,
) -> None:
    desk = begin(18)
    found = call(desk, 3)
    assert likeliest(found).kind is Kind.MISHEARD
    assert found[Kind.RESTARTED].probability < 0.2
    for _ in range(3):  # the prober stays with it
        found = call(desk, 3)
    assert likeliest(found).kind is Kind.RESTARTED
    assert Kind.MISHEARD in found
    leave(desk)


def test_a_pause_before_the_readings_that_are_left_speaks_for_a_memory_that_began_anew(begin: Begin) -> None:
    desk = begin(15)
    desk.pause()
    desk.proceed()
    read(desk, 3)
    assert likeliest(call(desk, 3)).kind is Kind.RESTARTED
    leave(desk)


@pytest.mark.parametrize("called", [0, 1, 3, 17, 19, 20, 44, 81, 117, 400, 4711])
def test_misheard_is_always_offered(begin: Begin, called: int) -> None:
    desk = begin(18)
    for _ in range(4):
        misheard = call(desk, called)[Kind.MISHEARD]
    assert misheard.changes[0].by == 0 and misheard.changes[0].next_number == 19
    leave(desk)


# --- an answer is taken back --------------------------------------------------------------


@pytest.mark.parametrize("since", [0, 2])
@pytest.mark.parametrize("called", [3, 7, 9, 10, 18])
def test_any_wrong_answer_is_taken_back_and_every_number_is_as_it_was(
    begin: Begin, called: int, since: int
) -> None:
    """Eight readings; a wrong number is believed, each way it can be; then the true one is called."""
    first = begin(8)
    ways = [
        (kind, place)
        for kind, each in call(first, called).items()
        if kind not in (Kind.MISHEARD, Kind.SEVERAL)
        for place in {0, len(each.changes) // 2, len(each.changes) - 1}
    ]
    first.leave()
    assert ways or called == 18
    for kind, place in ways:
        desk = begin(8)
        wrong = call(desk, called)[kind]
        follow(desk, wrong, wrong.changes[place])
        assert desk.survey.next_number == called + 1
        read(desk, since)
        rows = len(read_session(Disk(), desk.folder).events)
        found = call(desk, 8 + since)
        assert likeliest(found).kind is Kind.TAKEN_BACK
        change = found[Kind.TAKEN_BACK].changes[0]
        assert change_in_words(Kind.TAKEN_BACK, change, desk.survey).endswith(f"next number {9 + since}")
        follow(desk, found[Kind.TAKEN_BACK])
        assert filed(desk) == [(1, n) for n in range(1, 9 + since)]
        run = desk.survey.run
        assert run is not None and (run.run, run.next_number) == (1, 9 + since)
        assert not desk.survey.out_of_step
        read(desk, 1)
        assert filed(desk)[-1] == (1, 9 + since)
        assert desk.check_number(9 + since) is Agreement.AGREE
        assert len(read_session(Disk(), desk.folder).events) > rows + 3  # by further rows
        leave(desk)


def test_two_wrong_answers_are_taken_back_at_once(begin: Begin) -> None:
    desk = begin(6)
    follow(desk, call(desk, 7)[Kind.STORED_TWICE])
    follow(desk, call(desk, 9)[Kind.UNANNOUNCED])
    read(desk, 1)
    found = call(desk, 7)
    assert likeliest(found).kind is Kind.TAKEN_BACK and found[Kind.TAKEN_BACK].changes[0].takes_back == 2
    follow(desk, found[Kind.TAKEN_BACK])
    assert filed(desk) == [(1, n) for n in range(1, 8)]
    assert desk.survey.next_number == 8
    leave(desk)


def test_what_was_taken_back_can_be_put_again(begin: Begin) -> None:
    desk = begin(6)
    lost = call(desk, 5)[Kind.NOT_STORED]
    (was,) = lost.changes[0].loses
    follow(desk, lost)
    before = filed(desk)
    follow(desk, call(desk, 6)[Kind.TAKEN_BACK])
    assert filed(desk) == [(1, n) for n in range(1, 7)]
    again = call(desk, 5)[Kind.TAKEN_BACK]
    assert f"record {was} has no number again" in change_in_words(
        Kind.TAKEN_BACK, again.changes[0], desk.survey
    )
    follow(desk, again)
    assert filed(desk) == before
    leave(desk)


def test_an_answer_that_a_number_confirmed_is_hardly_wrong(begin: Begin) -> None:
    desk = begin(6)
    follow(desk, call(desk, 7)[Kind.STORED_TWICE])
    read(desk, 2)
    assert desk.check_number(9) is Agreement.AGREE
    read(desk, 2)
    found = call(desk, 10)  # one reading less
    assert likeliest(found).kind is Kind.NOT_STORED
    assert found[Kind.TAKEN_BACK].probability < 0.1
    leave(desk)


def test_without_an_answer_nothing_is_to_be_taken_back(begin: Begin) -> None:
    desk = begin(6)
    assert not {Kind.TAKEN_BACK, Kind.NOT_CLEARED} & call(desk, 7).keys()
    follow(desk, call(desk, 7)[Kind.STORED_TWICE])
    assert desk.check_number(7) is Agreement.AGREE
    assert Kind.TAKEN_BACK not in call(desk, 9)  # the number before would not be right either
    leave(desk)


def test_a_wrong_answer_over_another_slip_is_taken_back_and_the_slip_is_asked_about(begin: Begin) -> None:
    """One reading is stored twice, so 7 is right; 9 is heard, and believed."""
    desk = begin(6)
    follow(desk, call(desk, 9)[Kind.UNANNOUNCED])
    read(desk, 1)
    found = call(desk, 8)
    assert Kind.TAKEN_BACK in found
    words = change_in_words(Kind.TAKEN_BACK, found[Kind.TAKEN_BACK].changes[0], desk.survey)
    assert words.endswith("next number 8; 8 differs still and is asked about again")
    follow(desk, found[Kind.TAKEN_BACK])
    assert desk.survey.out_of_step and desk.survey.called == (8, 1)
    assert filed(desk) == [(1, n) for n in range(1, 8)]
    explained = {each.kind: each for each in desk.explain_numbers(8)}
    assert Kind.TAKEN_BACK not in explained
    twice = explained[Kind.STORED_TWICE]
    assert {change.moves_from for change in twice.changes} == {2, 3, 4, 5, 6, 7, None}
    follow(desk, twice, next(change for change in twice.changes if change.moves_from == 3))
    assert [number for _, number in filed(desk)] == [1, 2, 4, 5, 6, 7, 8]
    assert desk.check_number(8) is Agreement.AGREE
    leave(desk)


# --- the memory was not cleared -----------------------------------------------------------


@pytest.mark.parametrize("first_number", [0, 1])
@pytest.mark.parametrize("since", [0, 1, 3])
def test_a_run_begun_in_a_memory_that_was_not_cleared_is_none(
    begin: Begin, since: int, first_number: int
) -> None:
    desk = begin(2, meter=replace(ROOMY, first_number=first_number), next_number=first_number)
    desk.start_run(first_number, "memory cleared")
    read(desk, since)
    called = first_number + 1 + since
    found = call(desk, called)
    assert likeliest(found).kind is Kind.NOT_CLEARED
    assert Kind.MISHEARD in found
    change = found[Kind.NOT_CLEARED].changes[0]
    assert "run 1, which goes on" in change.words
    assert f"next number {called + 1}" in change_in_words(Kind.NOT_CLEARED, change, desk.survey)
    follow(desk, found[Kind.NOT_CLEARED])
    read(desk, 1)
    assert filed(desk) == [(1, first_number + n) for n in range(3 + since)]
    assert desk.check_number(called + 1) is Agreement.AGREE
    assert isinstance(read_session(Disk(), desk.folder).events[-4], Renumbered)
    memory_items = [each.what for each in closing_items(desk.survey) if each.group is Group.MEMORY]
    assert memory_items == ["memory run 1: not reconciled"]
    assert desk.start_run(first_number, "memory cleared").run == 3
    read(desk, 1)
    assert filed(desk)[-1] == (3, first_number)
    leave(desk)


def test_the_whole_memory_is_then_held_against_one_list(begin: Begin) -> None:
    desk = begin(3)
    readings = [each.reading for each in desk.survey.records.values()]
    listed = [MemoryEntry(1, n, each) for n, each in enumerate(readings, start=1)]
    take_over(desk, reconcile(desk.survey, listed, {1}), listed, "list.csv", "checked")
    assert desk.survey.reconciled == {1}
    desk.start_run(1, "memory cleared")
    read(desk, 2)
    follow(desk, call(desk, 5)[Kind.NOT_CLEARED])
    assert desk.survey.reconciled == frozenset() and desk.survey.read_on == {1}
    readings = [each.reading for each in desk.survey.records.values()]
    listed = [MemoryEntry(1, n, each) for n, each in enumerate(readings, start=1)]
    pairing = reconcile(desk.survey, listed, {1})
    assert [(pair.record, pair.number) for pair in pairing.pairs] == [(n, n) for n in range(1, 6)]
    leave(desk)


def test_a_run_of_another_meter_goes_on_in_none_before_it(begin: Begin) -> None:
    desk = begin(2)
    desk.take_meter(replace(METER, id="m2"), 1, "battery")
    read(desk, 1)
    assert Kind.NOT_CLEARED not in call(desk, 3)
    leave(desk)


def test_a_full_memory_cannot_have_gone_on(begin: Begin) -> None:
    desk = begin(3, meter=replace(METER, memory_size=3))
    desk.start_run(1, "memory full")
    read(desk, 1)
    assert Kind.NOT_CLEARED not in call(desk, 4)
    leave(desk)
