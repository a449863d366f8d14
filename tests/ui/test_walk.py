"""The walk screen: what is keyed, what is shown, and what is on the disk."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from textual import events

from fieldtui.core.trail.events import Event
from fieldtui.desk.opening import resume_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import DiskFullError
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.paused import PausedDialog
from fieldtui.ui.dialogs.stopped import StoppedDialog
from fieldtui.ui.screens.walk import WalkScreen
from tests.ui.walking import HIGH, LOW, METER, Ticking, begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]


@pytest.mark.parametrize("size", [LOW, HIGH])
async def test_everything_a_crew_must_see_is_on_the_screen(
    workspace: Workspace, app_of: AppOf, size: tuple[int, int]
) -> None:
    full = {
        "condition": '"flaps up"',
        "prepare": '"clean to bright metal"',
        "caution": '"fuel vent 1 m forward"',
    }
    (workspace.root / "routes" / "wing.toml").write_text(route_text(48, **full), encoding="utf-8")
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk, size) as hand:
        await hand.press("‹1.38›", "enter")
        screen = hand.screen()
    for words in (
        "SW-02  Flap track 2 jumper",
        "zone 620, WS 102",
        "flap track bracket 2",
        "rear spar ground stud G4",
        "less than 2.5 mΩ",
        "flaps up",
        "clean to bright metal",
        "CAUTION  fuel vent 1 m forward",
        "NEXT     SW-03  Flap track 3 jumper",
        "1 of 48 settled",
        "✓ 1 passed",
        "○ 47 open",
        "section SW 1/48",
        "RECORDED 1  SW-01  1.38 mΩ  ✓ PASS  memory 5",
        "room for 95",
    ):
        assert words in screen, words


async def test_a_value_and_enter_is_a_row_on_the_disk(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "‹2.500›", "enter")
        assert "RECORDED 2  SW-02  2.500 mΩ  ✗ FAIL" in hand.screen()
        assert [
            (row["record"], row["point"], row["value"], row["number"]) for row in hand.rows("reading")
        ] == [
            ("1", "SW-01", "1.38", "5"),
            ("2", "SW-02", "2.500", "6"),
        ]
        # 2.5 mohm with a strict comparator, FAA AC 43.13-1B 11-188f
        assert [row["verdict"] for row in hand.rows("reading")] == ["pass", "fail"]


async def test_the_value_is_read_back_while_it_is_keyed(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›")
        assert "one decimal three eight milliohms" in hand.screen()
        await hand.press("escape", "‹5 950u›")
        assert "memory number 5, nine five zero microhms" in hand.screen()
        assert hand.rows("reading") == []


async def test_digits_are_large(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter")
        lines = hand.screen().splitlines()
        panel = [line[58:] for line in lines[1:10]]
        assert "RECORD" in panel[0]
        assert [line.strip("│ ") for line in panel[1:4]] == ["╺━┓", "┏━┛", "┗━╸"]  # record 2
        assert "METER MEMORY" in panel[4]


async def test_text_that_is_no_value_stays_on_the_line(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1..3›", "enter")
        assert "more than one point" in hand.screen()
        assert hand.walk.entry.text == "1..3"
        assert hand.rows("reading") == []
        await hand.press("escape")
        assert hand.walk.entry.text == ""


async def test_enter_on_the_empty_line_does_nothing(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        before = hand.trail()
        await hand.press("enter", "enter")
        assert hand.trail() == before


async def test_letters_are_commands_only_while_the_line_is_empty(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.3›", "s", "v")
        assert hand.app.screen is hand.walk
        assert hand.walk.entry.text == "1.3sv"


async def test_commands_work_with_the_shift_lock_on(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("S", "2")
        assert len(hand.rows("skip")) == 1


async def test_iec_60062_letters_begin_a_value(desk: Desk, app_of: AppOf) -> None:
    # IEC 60062: L for milliohm in place of the point
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹R001›", "enter", "‹1L5›", "enter")
        assert [(row["value"], row["unit"]) for row in hand.rows("reading")] == [
            ("0.001", "ohm"),
            ("1.5", "mohm"),
        ]


# --- a stopped line -----------------------------------------------------------------------


async def test_a_memory_number_that_differs_stops_the_line(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹17 1.38›", "enter")
        assert isinstance(hand.app.screen, StoppedDialog)
        screen = hand.screen()
        assert "NOTHING IS RECORDED" in screen
        assert "17" in screen
        assert "5 expected" in screen
        await hand.press("enter", "enter")
        assert isinstance(hand.app.screen, StoppedDialog)
        assert hand.rows("reading") == []


async def test_a_stopped_line_keyed_again_keeps_its_value(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹17 1.38›", "enter", "escape")
        assert hand.walk.entry.text == "17 1.38"
        assert hand.rows("reading") == hand.rows("renumber") == []
        await hand.press("escape", "‹5 1.38›", "enter")
        assert [row["number"] for row in hand.rows("reading")] == ["5"]


async def test_a_stopped_line_confirmed_follows_the_meter(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹17 1.38›", "enter", "slash", "2")
        (reading,) = hand.rows("reading")
        (renumber,) = hand.rows("renumber")
        assert (reading["number"], renumber["number"]) == ("17", "17")
        assert reading["reason"] == renumber["reason"] == desk.session.reasons.of("renumber")[1]
        assert hand.walk.entry.text == ""


async def test_keys_pressed_before_the_line_stopped_do_not_confirm(desk: Desk, app_of: AppOf) -> None:
    """In a hurry: Enter, and the first digits of the next value, before the stop is seen."""
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹17 1.38›")
        entry = hand.walk.entry
        for key, character in (("enter", None), ("2", "2"), ("enter", None)):
            entry.post_message(events.Key(key, character))
        await hand.settle()
        assert isinstance(hand.app.screen, StoppedDialog)
        assert hand.rows("reading") == []


# --- the disk -----------------------------------------------------------------------------


class Gate:
    """Stands before the trail: holds every row until it is opened, or refuses it."""

    def __init__(self, desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
        self.opened = threading.Event()
        self.opened.set()
        self.trouble: DiskFullError | None = None
        self._append = desk._trail.append
        monkeypatch.setattr(desk._trail, "append", self.append)

    def append(self, event: Event) -> int:
        assert self.opened.wait(timeout=20)
        if self.trouble is not None:
            raise self.trouble
        return self._append(event)


async def test_what_is_saved_at_once_is_not_first_shown_as_waiting(
    desk: Desk, app_of: AppOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A frame that says so would hold up the one that says RECORDED."""
    for module in ("screens.walk_stage", "widgets.entry_line"):
        monkeypatch.setattr(f"fieldtui.ui.{module}.BLINK_S", 1000.0)
    async with walking(app_of(desk), desk) as hand:
        shown: list[bool] = []

        def note(value: bool) -> None:
            shown.append(value)

        hand.walk.watch(hand.walk, "saving", note, init=False)
        hand.walk.watch(hand.walk.entry, "looks_busy", note, init=False)
        await hand.press("‹1.38›", "enter")
        assert "RECORDED 1" in hand.screen()
        assert not shown


async def test_a_reading_needs_no_new_layout(workspace: Workspace, desk: Desk) -> None:
    """Laying out costs more than all that is drawn; only where a part grows or shrinks is it wanted."""

    class Silent:
        def calls(self, survey: object) -> str:
            return ""

    async with walking(FieldApp(workspace, Ticking(), desk=desk, prober=Silent()), desk) as hand:
        await hand.press("‹1.38›", "enter", "‹1.31›", "enter")
        laid_out: list[object] = []

        def note(screen: object) -> None:
            laid_out.append(screen)

        hand.walk.screen_layout_refresh_signal.subscribe(hand.walk, note, immediate=True)
        await hand.press("‹1.35›", "enter")
        assert "RECORDED 3" in hand.screen()
        assert not laid_out


async def test_while_saving_the_screen_says_so_and_enter_does_not_double(
    desk: Desk, app_of: AppOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate = Gate(desk, monkeypatch)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›")
        gate.opened.clear()
        await hand.pilot.press("enter", "enter", "enter", "0", ".", "9")
        await hand.until("SAVING")
        assert "RECORDED" not in hand.screen()
        gate.opened.set()
        await hand.settle()
        assert "SAVING" not in hand.screen()
        assert [row["value"] for row in hand.rows("reading")] == ["1.38"]
        assert hand.walk.entry.text == "0.9"  # what was keyed meanwhile is not lost


async def test_values_keyed_ahead_are_recorded_in_their_order(
    desk: Desk, app_of: AppOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate = Gate(desk, monkeypatch)
    async with walking(app_of(desk), desk) as hand:
        gate.opened.clear()
        await hand.pilot.press("1", "enter", "2", "enter", "3", "enter")
        gate.opened.set()
        for _ in range(3):
            await hand.settle()
        assert [(row["point"], row["value"]) for row in hand.rows("reading")] == [
            ("SW-01", "1"),
            ("SW-02", "2"),
            ("SW-03", "3"),
        ]


async def test_a_full_disk_keeps_the_value_and_says_not_saved(
    desk: Desk, app_of: AppOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate = Gate(desk, monkeypatch)
    async with walking(app_of(desk), desk) as hand:
        gate.trouble = DiskFullError("NOT SAVED: the disk is full", remedy="Make room, then key it again.")
        await hand.press("‹1.38›", "enter")
        assert "NOT SAVED: the disk is full: Make room, then key it again." in hand.screen()
        assert hand.walk.entry.text == "1.38"
        assert "0 of 4 settled" in hand.screen()
        gate.trouble = None
        await hand.press("enter")
        assert "RECORDED 1" in hand.screen()
        assert [row["value"] for row in hand.rows("reading")] == ["1.38"]


async def test_at_the_worst_moment_everything_still_fits(
    workspace: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full card, a caution of three lines, a prober, a warning and a refusal, all at 80x24."""
    full = {
        "condition": '"flaps up, connector mated"',
        "prepare": '"clean to bright metal"',
        "caution": '"fuel vent 1 m forward; keep the lead clear of the aileron cable and of the drain mast"',
    }
    (workspace.root / "routes" / "wing.toml").write_text(route_text(48, **full), encoding="utf-8")
    with begin_desk(workspace) as earlier:
        earlier.record(earlier.weigh("1.31"))
        earlier.record(earlier.weigh("1.32"))

    class Caller:
        def calls(self, survey: object) -> str:
            return "one decimal two"

    desk = begin_desk(workspace)
    gate = Gate(desk, monkeypatch)
    async with walking(FieldApp(workspace, Ticking(), desk=desk, prober=Caller()), desk) as hand:
        await hand.press("‹1.38›", "enter", "t", "1")
        gate.trouble = DiskFullError(
            "NOT SAVED: the disk is full",
            remedy="Make room on the disk, then key it again. Nothing recorded before is lost.",
        )
        await hand.press("‹1.2›", "enter")
        screen = hand.screen()
    for words in (
        "SW-01  Flap track 1 jumper",
        "before   1.31 mΩ  ✓ pass",
        "NEXT     SW-02",
        "0 of 48 settled",  # the point is to be taken again
        "   1  SW-01",
        "! Number check due (after a redo)",
        "Prober: one decimal two",
        "NOT SAVED: the disk is full",
        "value mΩ > 1.2",
        "one decimal two milliohms",
        "F1 help",
    ):
        assert words in screen, words
    assert "Nothing recorded before is lost." in " ".join(screen.split())


async def test_a_failed_disk_refuses_everything_that_writes(
    desk: Desk, app_of: AppOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: int) -> None:
        raise OSError(5, "Input/output error")

    async with walking(app_of(desk), desk) as hand:
        monkeypatch.setattr(desk._trail._disk, "sync_data", fail)
        await hand.press("‹1.38›", "enter")
        assert "NOT SAVED" in hand.screen()
        assert "CANNOT SAVE" in hand.screen()
        assert hand.walk.entry.text == "1.38"
        monkeypatch.undo()
        await hand.press("enter", "escape", "s")
        assert hand.app.screen is hand.walk
        assert "this session's disk failed" in hand.screen()
        assert "0 of 4 settled" in hand.screen()


# --- hostile text -------------------------------------------------------------------------


async def test_nothing_is_pasted_into_the_entry_line(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        hand.app.post_message(events.Paste("9.99\r\n"))
        await hand.settle()
        assert hand.walk.entry.text == ""
        assert "Nothing was pasted" in hand.screen()
        assert hand.rows("reading") == []


@pytest.mark.parametrize("title", ["[P-014]", "[/b] end", "[$accent] x", "a \\[x] b\\", "[red]no[/red]"])
async def test_markup_in_titles_is_shown_as_it_is(workspace: Workspace, app_of: AppOf, title: str) -> None:
    text = route_text(title=title.replace("\\", "\\\\"))
    text = text.replace("Flap track 1 jumper", title.replace("\\", "\\\\"))
    (workspace.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk) as hand:
        lines = hand.screen().splitlines()
        assert title in lines[0]
        assert f"SW-01  {title}" in lines[1]
        await hand.press("j")
        assert title in hand.screen()


async def test_escape_and_bidi_codes_never_reach_the_terminal(
    desk: Desk, app_of: AppOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The route reader refuses them; a session from elsewhere may still hold them."""
    point = desk.survey.points["SW-01"]
    for name in ("title", "where", "a", "b", "caution", "condition"):
        object.__setattr__(point, name, f"{name}\x1b]0;x\x07\u202e\x9b31m")
    async with walking(app_of(desk), desk, HIGH) as hand:
        screen = hand.screen()
        assert not set(screen) & set("\x1b\x07\u202e\x9b")
        assert "title\\u{1b}]0;x\\u{7}\\u{202e}\\u{9b}31m" in screen


# --- the walk as a whole ------------------------------------------------------------------


async def test_after_the_last_point_the_skipped_ones_come_and_then_it_says_so(
    desk: Desk, app_of: AppOf
) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("s", "2", "‹1›", "enter", "‹1.1›", "enter", "‹1.2›", "enter")
        assert "SECOND PASS" in hand.screen()
        assert "SW-01  Flap track 1 jumper" in hand.screen()
        await hand.press("‹1.3›", "enter")
        assert "No point is left to take" in hand.screen()
        assert "d closes the session" in hand.screen()
        assert "4 of 4 settled" in hand.screen()
        await hand.press("‹9›", "enter")
        assert len(hand.rows("reading")) == 4
        assert hand.walk.entry.text == "9"


async def test_memory_room_and_full(workspace: Workspace, app_of: AppOf) -> None:
    meter = type(METER)(id="m2", title="two readings", memory_size=2, calibration_due=METER.calibration_due)
    desk = begin_desk(workspace, meter=meter, next_number=1)
    async with walking(app_of(desk), desk) as hand:
        assert "Memory nearly full: room for 2" in hand.screen()
        await hand.press("‹1›", "enter", "‹1.1›", "enter")
        assert "MEMORY FULL" in hand.screen()
        await hand.press("‹1.2›", "enter")
        assert "memory is full" in hand.screen()
        assert hand.walk.entry.text == "1.2"
        await hand.press("escape", "f", "2", "9", "enter", "2", "‹1.2›", "enter")
        assert [(row["run"], row["number"]) for row in hand.rows("reading")] == [
            ("1", "1"),
            ("1", "2"),
            ("2", "1"),
        ]


@pytest.mark.parametrize("way", ["f", "slash"])
async def test_a_value_refused_by_a_full_memory_waits_for_the_next_run(
    workspace: Workspace, app_of: AppOf, way: str
) -> None:
    meter = type(METER)(id="m2", title="two readings", memory_size=2, calibration_due=METER.calibration_due)
    desk = begin_desk(workspace, meter=meter, next_number=1)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "‹1.2›", "enter")
        assert "NOT SAVED: The meter's memory is full at 2: f (keypad: /)" in hand.screen()
        await hand.press("‹5›")  # no digit is lost in it, and none is added to it
        assert "value mΩ > 1.2█   f or /: next run, then Enter. - clears it" in hand.screen()
        await hand.press(way)
        assert "Memory run 1, FULL" in hand.screen()
        await hand.press("minus")  # left: the value and the way on are still there
        assert hand.walk.entry.text == "1.2"
        await hand.press(way, "2", "9", "enter", "2")
        assert hand.walk.entry.text == "1.2"
        await hand.press("enter")
        assert [row["value"] for row in hand.rows("reading")] == ["1", "1.1", "1.2"]
        assert (hand.rows("reading")[-1]["run"], hand.rows("reading")[-1]["number"]) == ("2", "1")
        assert hand.walk.entry.text == ""


async def test_a_command_that_fails_leaves_an_unsaved_value_as_safe_as_it_was(
    workspace: Workspace, app_of: AppOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The next run could not be begun either: no digit takes the place of what may be all there is."""
    meter = type(METER)(id="m2", title="two readings", memory_size=2, calibration_due=METER.calibration_due)
    desk = begin_desk(workspace, meter=meter, next_number=1)
    gate = Gate(desk, monkeypatch)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "‹1.2›", "enter")
        gate.trouble = DiskFullError("the disk is full", remedy="Make room.")
        await hand.press("f", "2", "9", "enter", "2")
        assert "NOT SAVED: the disk is full" in hand.screen()
        await hand.press("‹5›")
        assert "value mΩ > 1.2█   f or /: next run, then Enter. - clears it" in hand.screen()
        gate.trouble = None
        await hand.press("f", "2", "9", "enter", "2", "enter")
        assert [row["value"] for row in hand.rows("reading")] == ["1", "1.1", "1.2"]


async def test_a_command_that_fails_does_not_make_half_a_value_a_whole_one(desk: Desk, app_of: AppOf) -> None:
    """From the palette a command may be given while a value is keyed: its digits go on behind the first."""
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.3›")
        hand.walk.action_act("redo")  # there is no reading yet
        await hand.settle()
        assert "No reading has been taken yet" in hand.screen()
        await hand.press("‹8›", "enter")
        assert [row["value"] for row in hand.rows("reading")] == ["1.38"]


async def test_the_previous_survey_is_shown(workspace: Workspace, app_of: AppOf) -> None:
    with begin_desk(workspace) as earlier:
        earlier.record(earlier.weigh("1.31"))
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk) as hand:
        assert "before   1.31 mΩ  ✓ pass" in hand.screen()


async def test_an_unverified_limit_says_so(desk: Desk, app_of: AppOf) -> None:
    from fieldtui.core.plan.route import CriterionStatus

    limit = desk.survey.points["SW-01"].limit
    object.__setattr__(limit, "status", CriterionStatus.UNVERIFIED)
    object.__setattr__(limit, "source", "some standard")
    async with walking(app_of(desk), desk) as hand:
        assert "less than 2.5 mΩ  UNVERIFIED  some standard" in hand.screen()
        await hand.press("‹1.38›", "enter")
        recorded, row = (
            next(line for line in hand.screen().splitlines() if words in line)
            for words in ("RECORDED 1", "✓ pass      memory 5")
        )
        assert "PASS  memory 5  limit UNVERIFIED" in recorded
        assert "limit UNVERIFIED" in row
        await hand.press("v")
        assert "limit UNVERIFIED" in hand.dialog()
        await hand.press("escape", "t", "0", "‹again›", "enter", "‹2.9›", "enter", "d")
        assert "failed, limit UNVERIFIED; no discr" in hand.screen()


async def test_left_and_resumed_at_the_same_place(workspace: Workspace, app_of: AppOf) -> None:
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "q")
        assert hand.app.return_value == 0
    again = resume_session(workspace, desk.folder, Ticking())
    async with walking(app_of(again), again) as hand:
        assert "SW-02  Flap track 2 jumper" in hand.screen()
        assert hand.walk.desk.survey.next_number == 6
        assert "Number check due" in hand.screen()


async def test_ctrl_c_leaves_the_session_resumable(workspace: Workspace, app_of: AppOf) -> None:
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1.38›", "enter", "s")
        await hand.pilot.press("ctrl+c")
        assert hand.app.return_value == 0
    with resume_session(workspace, desk.folder, Ticking()) as again:
        assert again.survey.next_record == 2


async def test_a_session_left_while_paused_says_so(workspace: Workspace, app_of: AppOf) -> None:
    with begin_desk(workspace) as earlier:
        earlier.pause("break")
        folder = earlier.folder
    desk = resume_session(workspace, folder, Ticking())
    async with walking(app_of(desk), desk) as hand:
        assert isinstance(hand.app.screen, PausedDialog)
        assert "PAUSED" in hand.screen()
        await hand.press("space")
        assert isinstance(hand.app.screen, WalkScreen)
        assert len(hand.rows("proceed")) == 1


@pytest.mark.parametrize(("value", "rings"), [("1.38", 1), ("9", 2), ("17 1.38", 3)])
async def test_the_bell_tells_pass_fail_and_stop_apart(
    desk: Desk, app_of: AppOf, monkeypatch: pytest.MonkeyPatch, value: str, rings: int
) -> None:
    heard: list[str] = []
    async with walking(app_of(desk), desk) as hand:
        monkeypatch.setattr(hand.app, "bell", lambda: heard.append("ring"))
        monkeypatch.setattr(hand.walk, "set_timer", lambda _delay, callback: callback())
        await hand.press(f"‹{value}›", "enter")
        assert len(heard) == rings


async def test_a_prober_is_heard(workspace: Workspace, desk: Desk) -> None:
    class Caller:
        def calls(self, survey: object) -> str:
            return "one decimal two [b]"

    app = FieldApp(workspace, Ticking(), desk=desk, prober=Caller())
    async with walking(app, desk) as hand:
        assert "Prober: one decimal two [b]" in hand.screen()


def test_runs_headless_under_an_auto_pilot(workspace: Workspace, desk: Desk, tmp_path: Path) -> None:
    from textual.pilot import Pilot

    async def drive(pilot: Pilot[int]) -> None:
        await pilot.pause()
        await pilot.press("1", ".", "2", "enter")
        screen = pilot.app.screen
        assert isinstance(screen, WalkScreen)
        await screen.writer.do(int)
        await pilot.press("q")
        await pilot.pause()

    code = FieldApp(workspace, Ticking(), desk=desk).run(headless=True, size=LOW, auto_pilot=drive)
    assert code == 0
    with resume_session(workspace, desk.folder, Ticking()) as again:
        assert len(again.survey.records) == 1
