"""Reconcile: where the list comes from, what is shown beside the record, what is taken over."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.measurement.voltage import VoltUnit
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.core.survey.memory import FIRST_RUN
from fieldtui.core.trail import events as ev
from fieldtui.desk.held_back import early_end
from fieldtui.desk.listed import ListUnits, weigh_listed
from fieldtui.desk.reconciling import load_list, of_run, reconcile
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.taking_over import take_over
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.blind import BlindAgainDialog, BlindDialog, is_alike
from fieldtui.ui.pages.reconcile import ReconcileScreen
from fieldtui.ui.widgets.word_line import WordLine
from tests.ui.keystrokes import SMALL
from tests.ui.walking import HIGH, LOW, Hand, begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]
VALUES = "0.52 1.9 0.81 1.4 0.33 1.1 2.2 0.64 1.7 0.45".split()


@pytest.fixture
def walked(workspace: Workspace) -> Desk:
    """Ten readings, numbers 5 to 14; record 4 was keyed with its digits swapped."""
    (workspace.root / "routes" / "wing.toml").write_text(route_text(12), encoding="utf-8")
    desk = begin_desk(workspace)
    for value in [*VALUES[:3], "4.1", *VALUES[4:]]:
        entry = desk.weigh(value)
        desk.record(entry, "read twice, the same" if entry.doubts else "")
    return desk


def write_list(workspace: Workspace, *lines: str, name: str = "list.csv") -> Path:
    path = workspace.root / name
    path.write_text("\n".join(["run,number,value,unit,state", *lines]) + "\n", encoding="utf-8")
    return path


def faulty_list(workspace: Workspace) -> Path:
    """The meter lacks record 7 and has a reading after record 8 that was never called."""
    kept = [*VALUES[:6], VALUES[7], "0.11", *VALUES[8:]]
    return write_list(workspace, *(f"1,{number},{value},mohm," for number, value in enumerate(kept, 5)))


def flat(hand: Hand) -> str:
    """What is on the screen as one line, for words that are broken where the room ends."""
    return " ".join(hand.screen().replace("┃", " ").split())


async def load(hand: Hand, path: Path) -> None:
    await hand.press("h", "1", f"‹{path}›", "enter")


@pytest.mark.parametrize("size", [LOW, HIGH])
async def test_record_and_list_side_by_side(
    workspace: Workspace, walked: Desk, app_of: AppOf, size: tuple[int, int]
) -> None:
    async with walking(app_of(walked), walked, size) as hand:
        await load(hand, faulty_list(workspace))
        screen = hand.screen()
        for words in (
            "RECONCILE  run 1 with list.csv",
            "9 paired, 1 of them keyed differently",
            "4 SW-04             4.1 mΩ     8  │     8       1.4 mΩ  ≠ KEYED DIFFERENTLY",
            "7 SW-07             2.2 mΩ    11  │                     − RECORD ONLY",
            "8 SW-08            0.64 mΩ    12  │    11      0.64 mΩ  # number differs",
            "│    12      0.11 mΩ  + MEMORY ONLY",
            "record 4 was keyed as 4.1 mΩ, the memory has 1.4 mΩ",
            "digits swapped",
            "take over what is certain",
        ):
            assert words in screen, words
        assert "= same" not in screen
        await hand.press("3")
        assert "1 SW-01            0.52 mΩ     5  │     5      0.52 mΩ  = same" in hand.screen()
        await hand.press("down", "end")
        assert "record 10 is the same in the memory" in hand.screen()


async def test_what_is_certain_is_taken_over_with_a_reason(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    path = faulty_list(workspace)
    async with walking(app_of(walked), walked) as hand:
        await load(hand, path)
        before = hand.trail()
        await hand.press("1", "enter", "escape")
        assert hand.trail() == before  # Enter picks no reason, Escape takes nothing over
        await hand.press("1", "2")
        rows = hand.trail()[len(before) :]
        assert [(row["kind"], row["ref"], row["value"] or row["number"]) for row in rows] == [
            ("amend", "4", "1.4"),
            ("unfiled", "7", ""),
            ("amend", "8", "11"),
            ("reconcile", "list.csv", ""),
        ]
        said = "value as in the memory list: digits swapped"
        assert rows[0]["reason"] == f"looked up on the meter again; {said}"
        assert rows[0]["note"] == "was 4.1 mohm"
        assert "TAKEN OVER: 3" in hand.screen()
        await hand.press("escape")
        assert "RECONCILED  run 1: 3 taken over" in hand.screen()
        assert walked.survey.reconciled == {1}
        assert "was memory 12" in hand.screen()


async def test_a_list_that_ends_before_the_record_is_asked_about(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    """A list keyed or copied in part: by it the last readings were not kept."""
    lines = [f"1,{number},{value},mohm," for number, value in enumerate(VALUES, 5)]
    part = write_list(workspace, *lines[:7])
    async with walking(app_of(walked), walked) as hand:
        await load(hand, part)
        said = "! the list ends before records 8 to 10, the last of memory run 1: is it whole?"
        assert said in hand.screen()
    for kept in (lines, [*lines[:6], *lines[8:]]):
        memory = load_list(str(write_list(workspace, *kept)), Unit.MOHM)
        assert early_end(walked.survey, reconcile(walked.survey, memory)) == ""


async def test_the_end_that_a_list_lacks_is_taken_over_line_by_line_alone(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    values = [*VALUES[:3], "4.1", *VALUES[4:8]]
    part = write_list(workspace, *(f"1,{number},{value},mohm," for number, value in enumerate(values, 5)))
    async with walking(app_of(walked), walked) as hand:
        await load(hand, part)
        before = hand.trail()
        await hand.press("1")
        assert "the run is NOT reconciled: the list ends before record 9" in flat(hand)
        assert hand.trail() == before
        for line in ("home", "down"):
            await hand.press(line, "2", "2", "1")
        assert [row["ref"] for row in hand.rows("unfiled")] == ["9", "10"]
        await hand.press("1", "1")
        assert "The run is reconciled" in hand.screen()
        await hand.press("escape")
        assert "RECONCILED  run 1: 2 taken over" in hand.screen()
        assert walked.survey.reconciled == {1}


async def test_a_last_line_left_out_of_a_list_keyed_blind_moves_no_later_number(
    walked: Desk, app_of: AppOf
) -> None:
    """Enter one line too early; the crew sees the number on the meter, and the walk goes on with the next."""
    async with walking(app_of(walked), walked) as hand:
        await key_list(hand, *VALUES[:3], "4.1", *VALUES[4:9])
        assert "! the list ends before record 10, the last of memory run 1: is it whole?" in flat(hand)
        assert "? LOOK AT METER" in hand.screen()
        before = hand.trail()
        await hand.press("1")
        assert "the run is NOT reconciled: the list ends before record 10" in flat(hand)
        assert hand.trail() == before
        await hand.press("2")
        assert "Record 10 is not in the list: was it kept?" in hand.screen()
        await hand.press("1", "1", "1")
        assert "The run is reconciled" in hand.screen()
        assert hand.rows("unfiled") == hand.rows("renumber") == []
        await hand.press("escape")
        assert walked.survey.next_number == 15 and "lowered by the list" not in hand.screen()


async def test_a_number_check_is_due_once_the_list_lowers_the_next_number(
    walked: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(walked), walked) as hand:
        await key_list(hand, *VALUES[:3], "4.1", *VALUES[4:9])
        await hand.press("2", "2", "1", "1", "1", "escape")
        assert [row["number"] for row in hand.rows("renumber")] == ["14"]
        assert "Number check due (number lowered by the list): c, then the meter's number." in flat(hand)


async def test_what_is_certain_may_be_taken_over_and_the_run_stay_open(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    part = write_list(workspace, *(f"1,{number},{value},mohm," for number, value in enumerate(VALUES[:8], 5)))
    async with walking(app_of(walked), walked) as hand:
        await load(hand, part)
        await hand.press("1")
        assert "(1 correction); the run is NOT settled by it" in flat(hand)
        await hand.press("1", "escape")
        assert "NOT RECONCILED" in hand.screen()
        assert [row["ref"] for row in hand.rows("amend")] == ["4"]
        assert hand.rows("unfiled") == hand.rows("reconcile") == []
        assert walked.survey.reconciled == frozenset()


async def test_a_list_of_another_run_is_refused_and_a_label_of_its_own_is_told(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    entries = [f"{number},{value},mohm," for number, value in enumerate(VALUES, 5)]
    strange = write_list(workspace, *(f"9,{entry}" for entry in entries), name="nine.csv")
    other = write_list(workspace, *(f"1,{entry}" for entry in entries), name="one.csv")
    async with walking(app_of(walked), walked) as hand:
        await load(hand, strange)
        assert "! the list says run 9; that is taken to mean run 1" in hand.screen()
        await hand.press("escape")
        walked.start_run(1, "memory full")
        walked.record(walked.weigh("1.3"), "read twice")
        await hand.press("h", "2", "1", f"‹{other}›", "enter")
        assert "The list says run 1, not run 2" in flat(hand)


async def test_lines_out_of_order_are_said_to_be_so(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    lines = [f"1,{number},{value},mohm," for number, value in enumerate(VALUES, 5)]
    moved = [*lines[4:], *lines[:4]]
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *moved))
        assert "! the list of run 1 is not in the order of its numbers" in hand.screen()
        assert "10 paired, 1 of them keyed differently" in hand.screen()


async def test_one_line_alone(workspace: Workspace, walked: Desk, app_of: AppOf) -> None:
    path = faulty_list(workspace)
    async with walking(app_of(walked), walked) as hand:
        await load(hand, path)
        await hand.press("down", "2")
        assert "Take over for record 7: not kept. Why?" in hand.screen()
        assert "value keyed wrong" not in hand.screen()  # none of the reasons is of something else
        await hand.press("1")
        assert [row["ref"] for row in hand.rows("unfiled")] == ["7"]
        assert hand.rows("amend") == []
        assert "TAKEN OVER: record 7, not kept" in hand.screen()
        await hand.press("end", "2")
        assert "Nothing to take over here" in hand.screen()
        await hand.press("escape")
        assert walked.survey.reconciled == frozenset()


async def test_keyed_blind_the_record_is_out_of_sight(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("h", "2", "enter")
        assert isinstance(hand.app.screen, BlindDialog)
        assert "number 5: value?" in hand.screen()
        assert not any(value in hand.screen() for value in ("0.52", "4.1 mΩ", "SW-"))
        await hand.press("‹0.52›", "enter", "enter")
        assert "number 5: 0.52 mΩ" not in hand.screen()  # the list ended there
        assert "RECONCILE  run 1 with the list keyed blind" in hand.screen()


async def key_list(hand: Hand, *values: str) -> None:
    await hand.press("h", "2")
    for value in values:
        await hand.press(f"‹{value}›", "enter")
    await hand.press("enter")


async def test_a_slip_in_the_blind_list_changes_no_value(walked: Desk, app_of: AppOf) -> None:
    """33 for 0.33: the line is asked for again, the record still hidden, and its second form holds."""
    async with walking(app_of(walked), walked) as hand:
        await key_list(hand, *VALUES[:3], "4.1", "33", *VALUES[5:])
        assert isinstance(hand.app.screen, BlindAgainDialog)
        assert "memory 9: key it again" in hand.screen()
        assert not any(value in hand.screen() for value in ("33", "KEYED DIFFERENTLY", "SW-"))
        await hand.press("enter")
        assert "key what the meter shows" in hand.screen()
        await hand.press("‹0.33›", "enter")
        assert "not what was keyed before" in hand.screen()
        assert "memory 9: key it again" in hand.screen()
        await hand.press("‹0.330›", "enter")
        assert "10 paired, 0 of them keyed differently" in hand.screen()
        await hand.press("1", "1")
        assert hand.rows("amend") == []
        assert str(walked.survey.records[5].reading) == "0.33 mΩ"


async def test_a_value_keyed_twice_alike_is_taken_as_that_of_the_list(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await key_list(hand, *VALUES[:3], "1.4", "33", *VALUES[5:])
        assert "memory 8: key it again   (1 more after it)" in hand.screen()
        await hand.press("‹1.4›", "enter")
        assert "memory 9: key it again" in hand.screen()
        await hand.press("escape")  # what was keyed twice stays so
        assert "(10 keyed so far: go on)" in hand.screen()
        await hand.press("2", "enter")
        assert "memory 9: key it again" in hand.screen() and "more after it" not in hand.screen()
        await hand.press("‹33›", "enter")
        assert "2 of them keyed differently" in hand.screen()
        await hand.press("1", "1")
        assert [(row["ref"], row["value"]) for row in hand.rows("amend")] == [("4", "1.4"), ("5", "33")]


async def test_a_value_that_only_might_be_the_one_of_a_record_is_asked_for_again_too(
    workspace: Workspace, app_of: AppOf
) -> None:
    desk = begin_desk(workspace, next_number=1)
    for value in ("1.24", "1.24", "1.57"):
        entry = desk.weigh(value)
        desk.record(entry, "read twice" if entry.doubts else "")
    pairing = reconcile(desk.survey, of_run([entry_of(1, "1.27"), entry_of(2, "1.57")], 1))
    assert not pairing.pairs or all(pair.entry for pair in pairing.pairs)  # which record it is, is undecided
    async with walking(app_of(desk), desk) as hand:
        await key_list(hand, "1.27", "1.57")
        assert "memory 1: key it again" in hand.screen()


def entry_of(number: int, value: str) -> MemoryEntry:
    return MemoryEntry(None, number, parse_resistance(value, Unit.MOHM))


async def test_blind_entries_can_be_taken_back_refused_and_left(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("h", "2", "enter", "enter")
        assert "nothing is keyed yet" in hand.screen()
        await hand.press("‹0..52›", "enter")
        assert "more than one point" in hand.screen()
        await hand.press(*(["backspace"] * 5), "‹9.9›", "enter", "‹-›", "enter")
        assert "number 6: erased" in hand.screen()
        assert "number 7: value?" in hand.screen()
        await hand.press("up", "up", "up")  # an entry back, its text away, and one more back
        assert "number 5: value?" in hand.screen()
        await hand.press("up", "‹520u›", "enter", "escape")
        assert "(1 keyed so far: go on)" in hand.screen()
        await hand.press("2")
        assert "number 5: 520 µΩ" in hand.screen()
        assert "number 6: value?" in hand.screen()


async def test_what_was_keyed_blind_is_kept_until_the_run_is_reconciled(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    app = app_of(walked)
    async with walking(app, walked) as hand:
        await hand.press("h", "2", "‹0.52›", "enter", "‹1.9›", "enter", "‹0.81›", "enter", "slash", "minus")
        assert "LIST KEPT run 1 3 keyed so far, until the program ends: h goes on" in flat(hand)
        await hand.press("f")  # the way to the next run knows of it as well
        assert "read out: key the list now (3 keyed so far: go on)" in flat(hand)
        await hand.press("1")
        assert "number 7: 0.81 mΩ" in hand.screen() and "number 8: value?" in hand.screen()
        await hand.press("escape", "escape", "escape", "h")
        assert "(3 keyed so far: go on)" in flat(hand)
        await hand.press("2", "‹1.4›", "enter", "enter", "‹1.4›", "enter")
        assert "RECONCILE  run 1 with the list keyed blind" in hand.screen()
        await hand.press("escape")  # the result was looked at, nothing taken over
        assert "4 keyed so far, until the program ends" in flat(hand)
        assert app._walk_of(walked).keyed_lists is hand.walk.keyed_lists  # a walk that is left and resumed
        await hand.press("h", "2")
        for value in VALUES[4:]:
            await hand.press(f"‹{value}›", "enter")
        await hand.press("enter", "1", "1", "escape")
        assert walked.survey.reconciled == {1}
        await hand.press("h")
        assert "keyed so far" not in flat(hand)


async def test_a_list_keyed_so_far_is_begun_again_by_one_key_of_its_own(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("h", "9")  # nothing is keyed: there is nothing to begin again
        assert not isinstance(hand.app.screen, BlindDialog)
        await hand.press("escape", "h", "2", "‹0.52›", "enter", "escape", "9")
        assert "number 5: value?" in hand.screen()
        await hand.press("‹17 1.38›", "enter")
        assert "number 18: value?" in hand.screen()


async def test_keys_of_the_keypad_never_lose_what_stands_on_a_blind_line(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("h", "2", "‹0.52›", "enter", "‹19›")
        line = hand.app.screen.query_one(WordLine)
        await hand.press("slash")
        assert line.text == "19" and "/ belongs to a unit here" in hand.screen()
        await hand.press("minus")
        assert line.text == "19" and "- stands before a value, or alone" in hand.screen()
        await hand.press("asterisk")
        assert (
            line.text == "" and "number 5: 0.52 mΩ" in hand.screen() and "number 6: value?" in hand.screen()
        )
        await hand.press("asterisk")
        assert line.text == "0.52 mohm" and "number 5: value?" in hand.screen()
        await hand.press("asterisk", "asterisk")  # there is none before it
        assert line.text == "" and "number 5: value?" in hand.screen()
        await hand.press("‹0.55mV›", "slash", "‹100mA›")
        assert line.text == "0.55mV/100mA"
        assert "* or Up clears the line; on the empty line: the last back" in flat(hand)
        await hand.press("asterisk", "slash")
        assert not isinstance(hand.app.screen, BlindDialog)


def volt_desk(workspace: Workspace, *values: str) -> Desk:
    """Pairs with the current reversed, 0.1 A: numbers from 5."""
    text = route_text(6, method='"reversed"', current_ma="100")
    (workspace.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    desk = begin_desk(workspace)
    for value in values:
        desk.record(desk.weigh(value))
    return desk


async def test_voltages_are_keyed_blind_with_their_sign(workspace: Workspace, app_of: AppOf) -> None:
    desk = volt_desk(workspace, "0.22", "-0.20", "0.21", "-0.19")
    async with walking(app_of(desk), desk) as hand:
        await hand.press("h", "2")
        assert "in mV unless keyed otherwise. A voltage: -0.52mV" in flat(hand)
        await hand.press("‹0.22mV/100mA›", "enter", "‹-0.20›", "enter", "‹210uV›", "enter")
        assert "number 6: -0.20 mV (2.0 mΩ)" in hand.screen()
        await hand.press("asterisk", "enter")  # it comes back as it is keyed
        assert "number 7: 210 µV" in hand.screen()
        await hand.press("‹0.19›", "enter", "enter")  # the minus left out
        assert "memory 8: key it again" in hand.screen()
        await hand.press("‹-0.19›", "enter")
        assert "not what was keyed before" in hand.screen()
        await hand.press("‹-0.19mV›", "enter")
        assert "4 paired, 0 of them keyed differently" in hand.screen()
        await hand.press("1", "1")
        assert hand.rows("amend") == [] and desk.survey.reconciled == {1}


def test_a_line_of_a_list_is_a_voltage_only_where_it_can_be_one() -> None:
    at = (Decimal(100),)
    mixed, two, none = (
        ListUnits(Unit.MOHM, at),
        ListUnits(Unit.MOHM, (*at, Decimal(10))),
        ListUnits(Unit.MOHM),
    )
    volts = ListUnits(Unit.MOHM, at, VoltUnit.MILLIVOLT)

    def cells(text: str, units: ListUnits) -> tuple[str, str]:
        reading = weigh_listed(text, 1, 1, units).reading
        assert reading is not None
        return reading.cells

    assert cells("0.55", mixed) == ("0.55", "mohm")
    assert cells("0.55", volts) == ("0.55", "mV/100mA")
    assert cells("0.55 mohm", volts) == ("0.55", "mohm")
    assert cells("-0.52", mixed) == cells("-0.52mV", volts) == ("-0.52", "mV/100mA")
    assert cells("550 µV", mixed) == ("550", "uV/100mA")
    assert cells("0.0001V", mixed) == ("0.0001", "V/100mA")
    assert cells("0.55mV/10mA", two) == cells("0.55mV/10mA", none) == ("0.55", "mV/10mA")
    for units in (mixed, two, none, volts):
        assert weigh_listed("-", 1, 1, units) == MemoryEntry(1, 1, None, erased=True)
    for text, units, why in (
        (
            "0.55mV",
            two,
            "a voltage of which current? Key it as in mV/100mA: this session reads them at 100 mA, 10 mA",
        ),
        ("-0.52", none, "no point of this session is read in volt"),
        ("0.55mV/0mA", mixed, "a voltage of which current?"),
        ("0.55mV/100", mixed, "with its current as in mV/100mA"),
        ("0.55mV/1234567890mA", mixed, "0.55mV/1234567890mA"),
        ("--1", mixed, "--1"),
        ("..mV", mixed, "more than one point"),
        ("mV", mixed, "no value keyed"),
    ):
        with pytest.raises(BadInputError, match=re.escape(why)):
            weigh_listed(text, 1, 1, units)


async def test_the_reason_of_the_first_run_is_offered_for_no_later_one(
    workspace: Workspace, app_of: AppOf
) -> None:
    reasons = f'format = 1\n[reasons]\nrun = ["{FIRST_RUN}", "memory full", "memory read out and cleared"]\n'
    (workspace.root / "shared").mkdir()
    (workspace.root / "shared" / "reasons.toml").write_text(reasons, encoding="utf-8")
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.1›", "enter", "f", "2", "9", "enter")
        assert "Next memory run: why?" in hand.dialog()
        assert FIRST_RUN not in hand.dialog()
        await hand.press("1", "enter")
        assert [row["reason"] for row in hand.rows("run")][1:] == ["memory full"]


@pytest.mark.parametrize("keys", ["x", "OL", "ol", "."])
async def test_an_entry_that_shows_no_value_is_keyed_as_that_and_as_no_erased_one(
    workspace: Workspace, app_of: AppOf, keys: str
) -> None:
    """A try without a value that the meter filed all the same stands in its list: over range, say."""
    (workspace.root / "routes" / "wing.toml").write_text(route_text(12), encoding="utf-8")
    desk = begin_desk(workspace)
    for value in VALUES[:4]:
        desk.record(desk.weigh(value))
        if value == "1.9":
            desk.attempt("over range", filed=True)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("h", "2", "‹0.52›", "enter", "‹1.9›", "enter", f"‹{keys}›", "enter")
        assert "number 7: no value" in hand.screen()
        await hand.press("up")  # it comes back as it is keyed
        assert "number 7: value?" in hand.screen()
        await hand.press("enter", "‹0.81›", "enter", "‹1.4›", "enter", "enter")
        await hand.press("3")
        assert "7     no value" in hand.screen() and "erased" not in hand.screen()
        assert "4 paired, 0 of them keyed differently" in hand.screen()
        await hand.press("1", "1")
        assert hand.rows("amend") == hand.rows("unfiled") == []
        assert [record.number for record in desk.survey.records.values()] == [5, 6, 8, 9]
        assert len(hand.rows("reconcile")) == 1


async def test_the_blind_list_ends_with_the_memory(workspace: Workspace, app_of: AppOf) -> None:
    desk = begin_desk(workspace, meter=SMALL, next_number=1)  # three places
    desk.record(desk.weigh("0.52"))
    async with walking(app_of(desk), desk) as hand:
        await hand.press("h", "2", "‹4 0.52›", "enter")
        assert "This memory ends with number 3" in hand.screen()
        await hand.press(*(["backspace"] * 6), "‹1 0.52›", "enter", "‹x›", "enter", "‹-›", "enter")
        assert "number 3 was the last: Enter ends the list" in hand.screen()
        assert "number 4" not in hand.screen()
        await hand.press("‹1.9›", "enter")
        assert "This memory ends with number 3" in hand.screen()
        assert "number 4" not in hand.screen()
        await hand.press(*(["backspace"] * 3), "enter")
        assert "RECONCILE  run 1 with the list keyed blind" in hand.screen()


async def test_the_help_key_of_the_page_behind_is_answered_over_the_list(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("h", "2", "f1")
        assert "Every key of this list stands below." in hand.screen()
        assert "x, OL, or . alone: an entry without a value" in flat(hand)


def test_what_shows_no_value_is_not_the_same_as_what_is_erased() -> None:
    erased, empty = MemoryEntry(1, 1, None, erased=True), MemoryEntry(1, 1, None)
    assert is_alike(empty, empty) and is_alike(erased, erased)
    assert not is_alike(empty, erased) and not is_alike(empty, entry_of(1, "1.2"))


async def test_an_erased_entry_is_shown_with_what_it_may_have_been(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    lines = [f"1,{number},{value},mohm," for number, value in enumerate(VALUES, 5)]
    lines[2] = "1,7,,,erased"
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *lines))
        assert "│     7       erased  ? UNDECIDED" in hand.screen()
        assert "record 3 (0.81 mΩ) is number 7 (erased)" in hand.screen()


async def test_undecided_lines_show_what_may_be_and_the_crew_decides(
    workspace: Workspace, app_of: AppOf
) -> None:
    desk = begin_desk(workspace, next_number=1)
    for value in ("1.24", "1.24", "1.57"):
        entry = desk.weigh(value)
        desk.record(entry, "read twice" if entry.doubts else "")
    async with walking(app_of(desk), desk) as hand:
        await load(hand, write_list(workspace, "1,1,1.24,mohm,", "1,2,1.57,mohm,"))
        assert "? UNDECIDED" in hand.screen()
        await hand.press("down", "down")
        assert "%  record 2 is not in the memory" in hand.screen()
        await hand.press("2", "enter")
        assert "Undecided: which is it?" in hand.screen()  # Enter decides nothing
        await hand.press("1", "1")
        assert [row["ref"] for row in hand.rows("unfiled")] == ["2"]
        assert "✓ decided" in hand.screen()
        assert "2 undecided, 1 decided one by one" in flat(hand)
        await hand.press("home", "2", "1")
        assert "0 undecided, 3 decided one by one" in flat(hand)
        await hand.press("1")
        assert "UNDECIDED STILL" not in flat(hand)
        await hand.press("1", "escape")
        (row,) = hand.rows("reconcile")
        assert "0 undecided, 3 decided one by one" in row["note"] and "left undecided" not in row["note"]
        said = flat(hand)
        assert "RECONCILED run 1: 2 taken over" in said and desk.survey.undecided == {}


def contradicting(workspace: Workspace) -> Path:
    """The list has 2.91 where record 5 was keyed as 0.33: another reading, or by no slip that is known."""
    values = [*VALUES[:3], "4.1", "2.91", *VALUES[5:]]
    return write_list(workspace, *(f"1,{number},{value},mohm," for number, value in enumerate(values, 5)))


async def test_what_stays_undecided_is_named_before_the_run_is_settled_over_it_and_after(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(walked), walked) as hand:
        await load(hand, contradicting(workspace))
        await hand.press("1")
        line = "record 5 (keyed 0.33 mΩ, number 9) may be number 9 = 2.91 mΩ"
        assert f"! UNDECIDED STILL: {line}" in flat(hand)
        await hand.press("3")
        assert "TAKEN OVER: 0. The run is reconciled, 2 undecided; every first form stays." in flat(hand)
        (row,) = hand.rows("reconcile")
        assert row["reason"] == "agreed with the prober"
        assert row["note"].endswith(f"2 undecided; left undecided: {line}")
        await hand.press("escape")
        assert "RECONCILED run 1: 0 taken over, 2 undecided" in flat(hand)
        await hand.press("f")
        assert "reconciled, 2 UNDECIDED: step 1 or 4 decides them before it is cleared" in flat(hand)
        await hand.press("escape", "d")
        assert "○ memory run 1: reconciled, 2 undecided" in flat(hand)


async def test_a_list_keyed_blind_is_kept_while_lines_of_it_are_undecided(
    walked: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(walked), walked) as hand:
        await key_list(hand, *VALUES[:3], "4.1", "2.91", *VALUES[5:])
        await hand.press("‹2.91›", "enter", "1", "1", "escape", "h")  # keyed twice alike
        assert "(10 keyed so far: go on)" in flat(hand)
        await hand.press("2", "enter", "2", "1", "1", "1", "1", "escape", "h")
        assert walked.survey.undecided == {} and "keyed so far" not in flat(hand)


async def test_over_what_is_undecided_nothing_leads_on_to_the_next_run(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    path = contradicting(workspace)
    async with walking(app_of(walked), walked) as hand:
        await hand.press("f", "4", f"‹{path}›", "enter", "1", "1", "escape")
        assert "reconciled, 2 UNDECIDED" in flat(hand)
        await hand.press("4", f"‹{path}›", "enter", "2", "2", "1", "1", "1")  # which stands alone
        assert [row["ref"] for row in hand.rows("unfiled")] == ["5"]


async def test_what_is_decided_line_by_line_counts_as_taken_over(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    """The value of the list fails: that is said as it is taken over."""
    async with walking(app_of(walked), walked) as hand:
        await load(hand, contradicting(workspace))
        await hand.press("2", "1", "1")
        assert "record 5 at SW-05 was pass, is FAIL now" in flat(hand)
        await hand.press("1", "1")
        assert "TAKEN OVER: 1. The run is reconciled; every first form stays." in flat(hand)
        await hand.press("escape")
        assert "RECONCILED run 1: 1 taken over" in flat(hand) and "undecided" not in flat(hand)


async def test_a_verdict_that_taking_over_changes_is_said(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    lines = [f"1,{number},{value},mohm," for number, value in enumerate(VALUES, 5)]
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *lines))
        await hand.press("1", "1")
        said = "VERDICT CHANGED: record 4 at SW-04 was FAIL, is pass now"
        assert said in flat(hand)
        await hand.press("escape")
        assert f"RECONCILED run 1: 1 taken over. {said}" in flat(hand)


async def test_a_reading_whose_line_the_list_lost_is_asked_about(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    """By values alone it was not kept; the numbers of the list go on behind the one it leaves out."""
    lines = [f"1,{number},{value},mohm," for number, value in enumerate(VALUES, 5) if number != 10]
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *lines))
        assert "? LOOK AT METER" in hand.screen()
        await hand.press("1")
        assert "(1 correction); the run is NOT settled by it" in flat(hand)
        await hand.press("escape", "down")
        assert "record 6 is not in the memory list; the list leaves out number 10" in flat(hand)
        before = hand.trail()
        await hand.press("2", "enter")  # Enter decides nothing
        assert "Record 6 is not in the list: was it kept?" in hand.screen()
        assert "the list leaves out number 10: look at the meter whether it is there." in flat(hand)
        assert hand.trail() == before
        await hand.press("1")
        assert "Record 6 keeps number 10; a note says so." in flat(hand)
        assert [row["note"] for row in hand.rows("note")] == [
            "record 6 keeps memory number 10: seen on the meter, and not in list.csv"
        ]
        await hand.press("1", "1")
        assert "The run is reconciled" in flat(hand)
        assert [row["ref"] for row in hand.rows("amend")] == ["4"] and hand.rows("unfiled") == []
        assert walked.survey.records[6].number == 10 and walked.survey.reconciled == {1}


async def test_it_is_not_kept_where_the_crew_says_so(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    lines = [f"1,{number},{value},mohm," for number, value in enumerate(VALUES, 5) if number != 10]
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *lines))
        await hand.press("down", "2", "escape")  # left: nothing is decided
        assert hand.rows("unfiled") == hand.rows("note") == []
        await hand.press("2", "2", "1")
        assert [row["ref"] for row in hand.rows("unfiled")] == ["6"]
        await hand.press("1", "1")
        assert walked.survey.reconciled == {1} and walked.survey.records[6].number is None


async def test_a_value_that_no_record_can_hold_stays_out_of_it(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    lines = [
        f"1,{number},{value},{'Mohm' if number == 6 else 'mohm'}," for number, value in enumerate(VALUES, 5)
    ]
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *lines))
        assert "NOT TAKEN OVER: 1900000000: more than 9 digits" in flat(hand)
        await hand.press("2")
        assert "The record stays as it is." in flat(hand) and "Look at the unit of that line" in flat(hand)
        await hand.press("1", "1")
        assert [row["ref"] for row in hand.rows("amend")] == ["4"]
        assert walked.survey.reconciled == {1}


async def test_an_erased_entry_of_a_reading_that_stands_is_no_same_line(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    lines = [f"1,{n},{value},mohm,{'erased' if n in (7, 9) else ''}" for n, value in enumerate(VALUES, 5)]
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *lines, "1,15,9.99,mohm,", "1,15,7.1,mohm,"))
        assert "! records 3, 5 stand, erased on the meter: ask why" in flat(hand)
        assert "x ERASED" in hand.screen()
        assert "2 in the memory only, 0 on the record only, 0 undecided" in flat(hand)  # not cut off
        assert "its entry is erased on the meter, and the record does not say so" in flat(hand)
        await hand.press("end")
        assert "number 15 (7.1 mΩ): not on the record; its number stands twice in the list" in flat(hand)


async def test_a_reading_decided_to_be_an_entry_without_a_value_is_told_in_the_row(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    lines = [f"1,{number},{value},mohm," for number, value in enumerate(VALUES, 5)]
    lines[2] = "1,7,,,no-value"
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *lines))
        assert "record 3 (0.81 mΩ) is number 7 (no value)" in flat(hand)
        await hand.press("2", "2")
        assert "Nothing to take over here: the record stays as it is." in flat(hand)
        await hand.press("1", "1")
        (row,) = hand.rows("reconcile")
        assert "; no value and standing: record 3; " in row["note"]


async def test_the_entry_of_a_filed_check_standard_is_shown_as_that(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    read, good = parse_resistance("2.50", Unit.MOHM), ev.Answer.GOOD
    walked.append(
        ev.StandardRead(
            **walked.stamp(), reading=read, verdict=good, ref=ev.CheckTime.INTERVAL, run=1, number=15
        )
    )
    lines = [f"1,{number},{value},mohm," for number, value in enumerate(VALUES, 5)]
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *lines, "1,15,2.60,mohm,"))
        words = "number 15: the check standard, recorded as 2.50 mΩ, is 2.60 mΩ in the memory"
        await hand.press("end")
        assert words in flat(hand)
        assert "MEMORY ONLY" not in hand.screen()


async def test_entries_that_read_like_the_next_run_are_said_to(workspace: Workspace, app_of: AppOf) -> None:
    (workspace.root / "routes" / "wing.toml").write_text(route_text(12), encoding="utf-8")
    desk = begin_desk(workspace, next_number=1)
    for at, value in enumerate(VALUES[:8]):
        if at == 5:
            desk.start_run(1, "memory full")
        desk.record(desk.weigh(value))
    lines = [f"1,{number},{value},mohm," for number, value in enumerate(VALUES[:8], 1)]
    async with walking(app_of(desk), desk) as hand:
        await hand.press("h", "1", "1", f"‹{write_list(workspace, *lines)}›", "enter")
        assert "! numbers 6 to 8 read like records 6 to 8, of memory run 2" in flat(hand)


async def test_a_list_from_another_session_is_said_and_refused(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    strange = [
        f"1,{number},{value},mohm," for number, value in enumerate("31 47 55 62 78 83 94 29".split(), 5)
    ]
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *strange))
        assert "! LIST FROM ANOTHER SESSION" in hand.screen()
        before = hand.trail()
        for key in ("1", "2"):
            await hand.press(key)
            assert "Nothing can be taken over" in hand.screen()
        assert hand.trail() == before


async def test_a_list_in_another_unit_is_said(workspace: Workspace, walked: Desk, app_of: AppOf) -> None:
    lines = [f"1,{number},{value},ohm," for number, value in enumerate(VALUES, 5)]
    async with walking(app_of(walked), walked) as hand:
        await load(hand, write_list(workspace, *lines))
        assert "! LIST IN ANOTHER UNIT" in hand.screen()
        assert "Nothing of it can be taken over" in hand.screen()


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("1,5,\x1b[31m0.52,mohm,", "\\u{1b}"),
        ("1,5,0.52\u202e,mohm,", "u{202e}"),
        ("1,5,[b]x[/b],mohm,", "[b]x[/b]"),
        ("1,5,0.52,mohm,gone", "list.csv:2, state"),
    ],
)
async def test_hostile_lists_are_refused_and_shown_escaped(
    workspace: Workspace, walked: Desk, app_of: AppOf, line: str, words: str
) -> None:
    path = write_list(workspace, line)
    async with walking(app_of(walked), walked, HIGH) as hand:
        await load(hand, path)
        assert "The memory list has" in hand.screen()
        # where a line ends depends on how long the path is
        assert words.replace(" ", "") in re.sub(r"[\s┃]", "", hand.screen())
        assert "\x1b" not in hand.screen() and "\u202e" not in hand.screen()
        await hand.press("enter")
        assert "from a file" in hand.screen()  # back to where the list comes from
        await hand.press("escape")
        assert hand.app.screen is hand.walk


async def test_a_file_that_is_not_there(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await hand.press("h", "1", "enter")
        assert "a path is wanted" in hand.screen()
        await hand.press("‹/no/such/list.csv›", "enter")
        assert "list.csv" in hand.dialog()
        assert hand.dialog().count("cannot be read") == hand.dialog().count("Check the path") == 1
        assert isinstance(hand.app.screen_stack[-2], ReconcileScreen)


async def test_without_a_memory_run_there_is_nothing_to_reconcile(
    workspace: Workspace, app_of: AppOf
) -> None:
    desk = begin_desk(workspace, next_number=None)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("h")
        assert "No memory run has begun" in hand.screen()


async def test_the_run_is_asked_where_there_are_several(
    workspace: Workspace, walked: Desk, app_of: AppOf
) -> None:
    walked.start_run(1, "memory full")
    walked.record(walked.weigh("1.3"), "read twice")
    async with walking(app_of(walked), walked) as hand:
        await hand.press("h")
        assert "memory run 1: 10 readings, not reconciled" in hand.screen()
        await hand.press("2", "2", "enter", "‹1.3›", "enter", "enter", "1", "1")
        assert [row["run"] for row in hand.rows("reconcile")] == ["2"]
        assert hand.rows("unfiled") == []  # readings of the other run are not asked for


def test_a_list_of_one_run_takes_nothing_from_another(walked: Desk) -> None:
    walked.start_run(1, "memory full")
    walked.record(walked.weigh("1.3"), "read twice")
    memory = of_run([MemoryEntry(None, 1, parse_resistance("1.3", Unit.MOHM))], 2)
    assert take_over(walked, reconcile(walked.survey, memory), memory, "list.csv") == 0
    assert all(record.number is not None for record in walked.survey.records.values())
