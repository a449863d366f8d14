"""Keys pressed before a page is there: none is lost or passes another, none answers what nobody has seen."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.pilot import Pilot

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.desk import opening
from fieldtui.desk.listed import ListUnits
from fieldtui.desk.opening import resume_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.blind import BlindAgainDialog
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.dialogs.form import FormDialog, Question, wanted
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.in_use import InUseDialog
from fieldtui.ui.dialogs.memory_run import UnreconciledDialog
from fieldtui.ui.dialogs.number import NumberDialog
from fieldtui.ui.dialogs.points import PointsDialog
from fieldtui.ui.dialogs.reason import Reason, ReasonDialog
from fieldtui.ui.dialogs.records import RecordDialog
from fieldtui.ui.held_keys import KeyedApp
from fieldtui.ui.pages.close_out import CloseOutScreen
from fieldtui.ui.pages.drift import NumberDriftScreen
from fieldtui.ui.pages.reconcile import ReconcileScreen
from fieldtui.ui.screens.brief import BriefScreen
from fieldtui.ui.screens.start import StartScreen
from fieldtui.ui.screens.walk import WalkScreen
from fieldtui.ui.themes import LIGHTS
from tests.ui.walking import LOOK_S, LOOKS, LOW, Hand, Ticking, begin_desk, route_text, screen_text, walking

AppOf = Callable[[Desk], FieldApp]
UNANSWERED = object()
NAMES = {"⏎": "enter", ".": "full_stop", "+": "plus", "-": "minus", "↓": "down", "/": "slash"}
TOLD = "Keys pressed before this was shown do not count."


def keys(text: str) -> list[events.Key]:
    return [events.Key(NAMES.get(each, each), each if each.isprintable() else None) for each in text]


def burst(app: KeyedApp[Any], text: str) -> None:
    """Keys that arrive together, before any of them has led to anything."""
    for key in keys(text):
        app.post_message(events.Key(key.key, None) if key.key == "enter" else key)


async def arrived(app: KeyedApp[Any]) -> None:
    """Until the application has looked at all keys so far; they may wait there."""
    done = asyncio.Event()
    app.call_later(done.set)
    await done.wait()


async def until(pilot: Pilot[Any], is_so: Callable[[], bool]) -> None:
    for _ in range(LOOKS):
        if is_so():
            return
        await pilot.pause(LOOK_S)
    raise AssertionError(f"it never came to that; the screen says:\n{screen_text(pilot.app)}")


async def rest(hand: Hand) -> None:
    """Until every key that was pressed has done what it does."""
    await arrived(hand.app)
    await until(hand.pilot, lambda: hand.app.takes_keys)
    await hand.settle()


@pytest.fixture(autouse=True)
def no_hurry(monkeypatch: pytest.MonkeyPatch) -> None:
    """A key pressed after keys were dropped counts at once; see the test of the hurry for the rule."""
    monkeypatch.setattr(KeyedApp, "HURRY_S", 0.0)


# --- dialogs ------------------------------------------------------------------------------


class Asking(KeyedApp[None]):
    """Asks one thing when ``a`` is pressed, and keeps the answer and the keys after it."""

    def __init__(self, dialog: Dialog[Any], early: str) -> None:
        super().__init__()
        self._dialog, self._early = dialog, early
        self.answer: object = UNANSWERED
        self.rest = ""
        for theme in LIGHTS:
            self.register_theme(theme)
        self.theme = LIGHTS[0].name

    def press_early(self) -> None:
        burst(self, "a" + self._early)

    def _keep(self, answer: object) -> None:
        self.answer = answer

    def on_key(self, event: events.Key) -> None:
        if event.key == "a" and not self._dialog.is_attached:
            self.push_screen(self._dialog, self._keep)
        else:
            self.rest += "⏎" if event.key == "enter" else event.character or ""


async def test_a_value_keyed_in_one_run_at_a_question_that_can_be_seen_is_whole() -> None:
    """The first digit is still being taken when the others come; none of them is older than the question."""
    keyed = [MemoryEntry(1, 3, parse_resistance("2.7", Unit.MOHM))]
    app = Asking(BlindAgainDialog(1, ListUnits(Unit.MOHM), keyed, [0], {}), "")
    async with app.run_test() as pilot:
        app.press_early()
        await until(pilot, lambda: isinstance(app.screen, BlindAgainDialog) and app.takes_keys)
        burst(app, "2.7⏎")
        await until(pilot, lambda: app.answer is not UNANSWERED)
    assert app.answer is True


async def asked(dialog: Dialog[Any], early: str, *later: str) -> tuple[object, str, str]:
    """The answer, the keys that went on to the page below, and what stands on the screen in the end."""
    app = Asking(dialog, early)
    async with app.run_test(size=LOW) as pilot:
        await until(pilot, lambda: app.takes_keys)
        app.press_early()
        await arrived(app)
        await until(pilot, lambda: app.takes_keys)
        for key in later:
            await pilot.press(key)
            await until(pilot, lambda: app.takes_keys)
        await pilot.pause()
        await app.screen.wait_for_refresh()  # what was said about dropped keys needs its line first
        return app.answer, app.rest, screen_text(app)


@pytest.mark.parametrize(
    ("early", "answer", "passed_on"),
    [
        ("2", Reason("fog"), ""),
        ("21.1⏎", Reason("fog"), "1.1⏎"),
        ("0owl⏎7", Reason("owl"), "7"),
        ("9x", UNANSWERED, ""),
        ("-1.1", None, "1.1"),
    ],
)
async def test_keys_in_a_hurry_reach_the_dialog_and_the_rest_goes_on(
    early: str, answer: object, passed_on: str
) -> None:
    found, rest, _ = await asked(ReasonDialog("Why?", ["wind", "fog"]), early)
    assert (found, rest) == (answer, passed_on)


def two_lines() -> FormDialog:
    return FormDialog("Tell", [Question("one", wanted("one")), Question("two", answer="as offered")])


@pytest.mark.parametrize(
    ("dialog", "early", "words"),
    [
        (lambda: ReasonDialog("Why?", ["wind", "fog"]), "⏎2", "fog"),
        (lambda: UnreconciledDialog(2), "9", "NOT RECONCILED"),
        (lambda: HelpDialog("review"), "1", "Every reading"),
        (two_lines, "⏎", "as offered"),
        (two_lines, "owl⏎⏎2", "owl"),
    ],
    ids=["reason", "unreconciled", "help", "form untouched", "form offered"],
)
async def test_what_nobody_has_seen_is_not_answered(
    dialog: Callable[[], Dialog[Any]], early: str, words: str
) -> None:
    """What it asks is there to be seen, it says so, and no later key of the burst counts either."""
    answer, rest, screen = await asked(dialog(), early)
    assert (answer, rest) == (UNANSWERED, "")
    assert words in screen and TOLD in screen


async def test_the_rest_of_a_value_does_not_answer_either(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its first digit came too early, the others a little later: it is no value any more, nor an answer."""
    monkeypatch.setattr(KeyedApp, "HURRY_S", 1000.0)
    answer, _, screen = await asked(UnreconciledDialog(2), "1", "full_stop", "9", "enter", "9")
    assert answer is UNANSWERED and TOLD in screen
    monkeypatch.setattr(KeyedApp, "HURRY_S", 0.0)
    assert (await asked(UnreconciledDialog(2), "1", "9"))[0] is True


async def test_once_it_is_seen_enter_answers() -> None:
    assert (await asked(ReasonDialog("Why?", ["wind", "fog"]), "⏎", "enter"))[0] == Reason("wind")
    assert (await asked(two_lines(), "owl⏎⏎", "enter"))[0] == ["owl", "as offered"]


async def test_enter_after_what_was_keyed_is_no_blind_answer(desk: Desk) -> None:
    assert (await asked(NumberDialog(), "17⏎"))[0] == ["17"]
    points = PointsDialog("Which?", desk.survey, list(desk.survey.points.values()))
    assert (await asked(points, "track 3⏎"))[0] == "SW-03"
    points = PointsDialog("Which?", desk.survey, list(desk.survey.points.values()))
    assert (await asked(points, "⏎"))[0] is UNANSWERED
    for _ in range(3):
        desk.record(desk.weigh("1.2"))
        desk.redo("again")
    # The newest reading is what is meant, whatever else is listed.
    assert (await asked(RecordDialog("Which?", desk.survey.last_records(3)), "⏎"))[0] == 3


async def test_what_is_pasted_keeps_its_place() -> None:
    app = Asking(ReasonDialog("Why?", ["wind"]), "")
    async with app.run_test(size=LOW) as pilot:
        await until(pilot, lambda: app.takes_keys)
        burst(app, "a0")
        app.post_message(events.Paste("under the nacelle"))
        burst(app, "⏎5")
        await until(pilot, lambda: app.answer is not UNANSWERED)
        await until(pilot, lambda: app.takes_keys)
        assert (app.answer, app.rest) == (Reason("under the nacelle"), "5")


# --- from the start screen ----------------------------------------------------------------


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """A session opens once this is set."""
    gate = threading.Event()

    def slowly(*args: Any) -> Desk:
        assert gate.wait(timeout=20)
        return resume_session(*args)

    monkeypatch.setattr(opening, "resume_session", slowly)
    return gate


async def test_a_value_keyed_while_the_session_opens_is_recorded(
    workspace: Workspace, held: threading.Event
) -> None:
    with begin_desk(workspace) as desk:
        folder = desk.folder
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        await until(pilot, lambda: app.takes_keys)
        burst(app, "⏎1.29⏎")
        await pilot.pause()
        burst(app, "1.3")
        await pilot.pause()
        assert isinstance(app.screen, StartScreen) and not app.takes_keys
        held.set()
        await until(pilot, lambda: isinstance(app.screen, WalkScreen) and app.takes_keys)
        hand = Hand(pilot, folder)
        await hand.settle()
        assert [row["value"] for row in hand.rows("reading")] == ["1.29"]
        assert hand.walk.entry.text == "1.3"


async def test_where_it_does_not_open_the_keys_are_forgotten(workspace: Workspace) -> None:
    (workspace.root / "routes" / "wing.toml").write_text("format = 1\n", encoding="utf-8")
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        await until(pilot, lambda: app.takes_keys)
        burst(app, "⏎q")  # q would leave the program
        await until(pilot, lambda: bool(app._notifications) and app.takes_keys)
        await pilot.pause()
        assert isinstance(app.screen, StartScreen) and app.is_running
        await pilot.press("q")
        await pilot.pause()
        assert app.return_value == 0


async def test_a_question_instead_of_the_walk_is_not_answered(workspace: Workspace) -> None:
    """Another program has the session: looking at it read-only was not what Enter and a value meant."""
    with begin_desk(workspace):
        app = FieldApp(workspace, Ticking())
        async with app.run_test(size=LOW) as pilot:
            await until(pilot, lambda: app.takes_keys)
            burst(app, "⏎1.29⏎")
            await until(pilot, lambda: isinstance(app.screen, InUseDialog) and app.takes_keys)
            assert TOLD in screen_text(app)
            await pilot.press("minus")
            await until(pilot, lambda: isinstance(app.screen, StartScreen) and app.takes_keys)


async def test_cautions_are_not_read_by_a_second_enter(workspace: Workspace) -> None:
    (workspace.root / "shared").mkdir()
    (workspace.root / "shared" / "cautions.toml").write_text(
        'format = 1\n[[cautions]]\nid = "vapour"\ntitle = "Vapour"\ntext = "No laptop near open tanks."\n',
        encoding="utf-8",
    )
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        await until(pilot, lambda: app.takes_keys)
        burst(app, "⏎⏎")
        await until(pilot, lambda: isinstance(app.screen, BriefScreen) and app.takes_keys)
        assert "NOT READ YET" in screen_text(app)
        await pilot.press("enter")
        await pilot.pause()
        assert "NOT READ YET" not in screen_text(app)


async def test_the_list_must_stand_before_enter_opens_from_it(workspace: Workspace) -> None:
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        burst(app, "⏎")
        await arrived(app)
        await until(pilot, lambda: app.takes_keys)
        assert isinstance(app.screen, StartScreen)
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, BriefScreen))


# --- pages over the walk ------------------------------------------------------------------


@pytest.fixture
def walked(workspace: Workspace) -> Desk:
    """Three readings, filed under 5 to 7."""
    (workspace.root / "routes" / "wing.toml").write_text(route_text(restore='"coat"'), encoding="utf-8")
    desk = begin_desk(workspace)
    for value in ("0.52", "1.90", "0.81"):
        desk.record(desk.weigh(value))
    return desk


async def test_the_first_blind_value_is_not_lost(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await rest(hand)
        burst(hand.app, "h20.52⏎1.9⏎0.8")
        await rest(hand)
        shown = hand.dialog()
        assert "number 5: 0.52 mΩ" in shown and "number 6: 1.9 mΩ" in shown
        assert "number 7: value?" in shown and " 0.8█" in shown


async def test_a_comparison_must_be_seen_before_it_is_taken_over(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await rest(hand)
        burst(hand.app, "h20.52⏎1.90⏎0.81⏎⏎11")
        await rest(hand)
        assert isinstance(hand.app.screen, ReconcileScreen)
        assert hand.rows("reconcile") == []
        assert TOLD in hand.screen()
        await hand.press("1")
        await rest(hand)
        await hand.press("1")
        await until(hand.pilot, lambda: len(hand.rows("reconcile")) == 1)


@pytest.mark.parametrize("early", ["d1", "d⏎", "d++1", "d9dark⏎"])
async def test_the_close_out_must_be_seen_before_anything_is_settled(
    walked: Desk, app_of: AppOf, early: str
) -> None:
    async with walking(app_of(walked), walked) as hand:
        await rest(hand)
        before = hand.trail()
        burst(hand.app, early)
        await rest(hand)
        assert isinstance(hand.app.screen, CloseOutScreen)
        assert hand.trail() == before
        assert TOLD in hand.screen()


async def test_what_only_looks_counts_before_the_close_out_is_there(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await rest(hand)
        burst(hand.app, "d-1.2")
        await rest(hand)
        assert hand.app.screen is hand.walk
        assert hand.walk.entry.text == "1.2"


async def test_a_line_of_the_close_out_is_settled_once_for_each_look(walked: Desk, app_of: AppOf) -> None:
    """The mark goes on to another line: a second key in a hurry must not settle what nobody has read."""
    async with walking(app_of(walked), walked) as hand:
        await hand.press("d")
        for _ in range(20):
            if "it is restored" not in hand.screen():
                await hand.press("plus")
        await rest(hand)
        burst(hand.app, "11")
        await rest(hand)
        assert len(hand.rows("restored")) == 1
        await hand.press("1")
        await until(hand.pilot, lambda: len(hand.rows("restored")) == 2)


async def test_drift_is_not_explained_unseen(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await rest(hand)
        burst(hand.app, "c9⏎1⏎11.4⏎")
        await rest(hand)
        assert isinstance(hand.app.screen, NumberDriftScreen)
        assert len(hand.rows("number")) == 1 and hand.rows("renumber") == []
        assert len(hand.rows("reading")) == 3
        assert TOLD in hand.screen()


async def test_what_the_line_can_take_is_there_at_once(desk: Desk, app_of: AppOf) -> None:
    """No digit waits for what the one before it could lead to; what follows Enter does."""
    async with walking(app_of(desk), desk) as hand:
        await rest(hand)
        burst(hand.app, "1.31")
        await arrived(hand.app)
        assert hand.walk.entry.text == "1.31"
        burst(hand.app, "⏎0.7")
        await arrived(hand.app)
        assert hand.walk.entry.text == "1.31" and hand.walk.entry.is_busy
        await rest(hand)
        assert hand.walk.entry.text == "0.7"
        assert [row["value"] for row in hand.rows("reading")] == ["1.31"]


@pytest.mark.parametrize(("hurry_s", "text"), [(1000.0, "1.3x"), (0.0, "9")])
async def test_after_a_refused_line_the_rest_of_the_next_value_is_no_value(
    desk: Desk, app_of: AppOf, monkeypatch: pytest.MonkeyPatch, hurry_s: float, text: str
) -> None:
    monkeypatch.setattr(KeyedApp, "HURRY_S", hurry_s)
    async with walking(app_of(desk), desk) as hand:
        await rest(hand)
        burst(hand.app, "1.3x⏎1.2")
        await rest(hand)
        assert hand.walk.entry.text == "1.3x"
        burst(hand.app, "9")  # what the hand was still at
        await rest(hand)
        assert hand.walk.entry.text == text


async def test_what_stops_the_line_is_not_confirmed_unseen(walked: Desk, app_of: AppOf) -> None:
    async with walking(app_of(walked), walked) as hand:
        await rest(hand)
        burst(hand.app, "40⏎1.2⏎")
        await rest(hand)
        assert "NOTHING IS RECORDED YET" in hand.screen()
        assert len(hand.rows("reading")) == 3


async def test_leaving_waits_for_nothing(workspace: Workspace, held: threading.Event) -> None:
    with begin_desk(workspace):
        pass
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        await until(pilot, lambda: app.takes_keys)
        burst(app, "⏎1.29⏎")
        app.post_message(events.Key("ctrl+c", None))
        await until(pilot, lambda: app.return_value == 0)
        held.set()


async def test_a_resumed_pause_is_not_ended_by_a_value_keyed_too_early(
    workspace: Workspace, tmp_path: Path
) -> None:
    with begin_desk(workspace) as desk:
        desk.pause("break")
        folder = desk.folder
    app = FieldApp(workspace, Ticking())
    async with app.run_test(size=LOW) as pilot:
        await until(pilot, lambda: app.takes_keys)
        burst(app, "⏎1.29⏎")
        await until(pilot, lambda: "PAUSED" in screen_text(app) and app.takes_keys)
        hand = Hand(pilot, folder)
        assert hand.rows("proceed") == hand.rows("reading") == []
