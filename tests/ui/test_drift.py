"""Drift: what is asked when the numbers differ or the drift watch speaks up, and what is then on the disk."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from fieldtui.core.drift.explanations import Change, Explanation, Kind
from fieldtui.core.drift.watch import Alarm
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.opening import begin_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import WrongUseError
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.number import NumberDialog
from fieldtui.ui.pages.drift import NumberDriftScreen, PlaceDialog
from fieldtui.ui.pages.drift_points import PointChoice, PointDriftScreen, Remedy, offered
from fieldtui.ui.pages.reconcile import ReconcileScreen
from fieldtui.ui.widgets.drift_words import change_in_words, percent
from tests.desk.scenes import record
from tests.ui.walking import HIGH, LOW, METER, Hand, begin_desk, route_text, walking

AppOf = Callable[[Desk], FieldApp]
VALUES = "0.52 1.9 0.81 1.4 0.33 1.1 2.2 0.64 1.7 0.45 1.25 0.92".split()  # neighbours differ by a factor


def lay_route(workspace: Workspace, count: int = 12, **fields: str) -> None:
    (workspace.root / "routes" / "wing.toml").write_text(route_text(count, **fields), encoding="utf-8")


@pytest.fixture
def surveyed(workspace: Workspace) -> Workspace:
    """Twelve points that were surveyed twice before, the same values each time."""
    lay_route(workspace)
    for _ in range(2):
        with begin_desk(workspace) as desk:
            for value in VALUES:
                desk.record(desk.weigh(value))
            desk.close()
    return workspace


async def read_until_drift(hand: Hand, values: list[str]) -> None:
    """Key values, confirming what stops the line, until the drift watch speaks up."""
    for value in values:
        await hand.press(f"‹{value}›", "enter")
        if type(hand.app.screen).__name__ == "StoppedDialog":
            await hand.press(f"‹{value}›", "enter")
        if isinstance(hand.app.screen, PointDriftScreen):
            return
    raise AssertionError("the drift watch said nothing")


# --- numbers ------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [LOW, HIGH])
async def test_a_mismatch_opens_drift_with_ranked_explanations(
    workspace: Workspace, app_of: AppOf, size: tuple[int, int]
) -> None:
    lay_route(workspace)
    desk = begin_desk(workspace)
    async with walking(app_of(desk), desk, size) as hand:
        for value in VALUES[:4]:
            await hand.press(f"‹{value}›", "enter")
        await hand.press("c", "‹9›", "enter")
        assert isinstance(hand.app.screen, NumberDriftScreen)
        screen = hand.screen()
    for words in (
        "THE NUMBERS DIFFER",
        "Meter: last reading is 9.   Record: last reading is 8.",
        "?    4  SW-04              1.4 mΩ  ✓ pass      memory 8",
        "%  unannounced reading  (undecided: 5 places, each as likely)",
        "%  stored twice  (undecided: 4 places, each as likely)",
        "the numbers do not tell where it happened",
        "→ what moves depends on the place; next number 10",
        "%  number misheard",
        "no number changes; the prober reads it out again",
        "%  spoiled number",
        "<1 %  more than one slip",
        "marks, Enter takes it.",
    ):
        assert words in screen, words


async def test_enter_and_keys_in_a_hurry_pick_nothing(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "c", "‹6›", "enter", "enter", "9")
        assert isinstance(hand.app.screen, NumberDriftScreen)
        assert hand.rows("renumber") == []


async def test_escape_goes_back_one_step_at_a_time_and_leaves_a_warning(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "c", "‹7›", "enter", "1", "enter")
        assert "where? Undecided: nothing tells these apart" in hand.screen()
        await hand.press("enter")
        assert "where? Undecided" in hand.screen()  # nothing is proposed, so Enter takes nothing
        await hand.press("1", "enter")
        assert "Why?" in hand.screen()
        await hand.press("escape")
        assert "Meter: last reading is 7." in hand.screen()
        await hand.press("escape")
        assert hand.app.screen is hand.walk
        assert "OUT OF STEP" in hand.screen()
        assert hand.rows("renumber") == []
        await hand.press("‹1.2›", "enter")
        assert "OUT OF STEP" in hand.screen()


async def test_the_place_and_the_reason_are_written(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "‹1.2›", "enter", "c", "‹8›", "enter")
        digit = next(line.split()[0] for line in hand.screen().splitlines() if "stored twice" in line)
        await hand.press(digit, "enter", "2", "enter", "1", "enter")
        (row,) = hand.rows("renumber")
        assert (row["number"], row["ref"], row["reason"]) == ("9", "3", "record 2 was stored again")
        assert [record.number for record in hand.walk.desk.survey.records.values()] == [5, 6, 8]
        assert "IN STEP AGAIN" in hand.screen()
        assert "OUT OF STEP" not in hand.screen()


async def test_the_reasons_offered_fit_what_was_chosen(desk: Desk, app_of: AppOf) -> None:
    """The crew's own reasons for other numbers would name another slip than the one just chosen."""
    assert "reading not filed" in desk.session.reasons.of("renumber")
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "‹1.2›", "enter", "c", "‹8›", "enter")
        digit = next(line.split()[0] for line in hand.screen().splitlines() if "stored twice" in line)
        await hand.press(digit, "enter", "2", "enter")
        assert "1  record 2 was stored again" in hand.screen()
        assert "seen in the meter's memory" in hand.screen()
        assert "reading not filed" not in hand.screen()


async def test_a_place_that_something_speaks_for_is_proposed(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "x", "2", "c", "‹7›", "enter")
        assert "spoiled number  (the likeliest of 3 places)" in hand.screen()
        await hand.press("1", "enter")
        assert "where? The likeliest place first" in hand.screen()
        await hand.press("enter")
        assert "Why?" in hand.screen()


async def test_keys_and_help_of_both_pages_agree(surveyed: Workspace, app_of: AppOf) -> None:
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹0.52›", "enter", "c", "‹6›", "enter", "f1")
        assert "a digit marks, too" in hand.dialog()
        assert "earlier or later" not in hand.dialog() and "One point" not in hand.dialog()
        await hand.press("enter", "escape")
        await read_until_drift(hand, VALUES[1:6] + VALUES[7:])
        await hand.press("f1")
        assert "one record earlier or later" in " ".join(hand.dialog().split())
        assert "One point less" in hand.dialog()


async def test_a_misheard_number_is_read_out_again_and_grows_rarer(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "c", "‹9›", "enter", "1", "enter")
        assert isinstance(hand.app.screen, NumberDialog)
        await hand.press("‹9›", "enter")
        assert "read out 2 times" in hand.screen()
        first = [line for line in hand.screen().splitlines() if "number misheard" in line]
        assert ">99 %" not in first[0]
        await hand.press(first[0].split()[0], "enter", "‹5›", "enter")
        assert [row["verdict"] for row in hand.rows("number")] == ["differ", "differ", "agree"]
        assert hand.rows("renumber") == []
        assert "NUMBERS AGREE" in hand.screen()
        assert "OUT OF STEP" not in hand.screen()


async def test_more_than_one_slip_says_to_reconcile(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "c", "‹7›", "enter")
        digit = next(line.split()[0] for line in hand.screen().splitlines() if "more than one" in line)
        await hand.press(digit, "enter")
        assert "MORE THAN ONE SLIP  read the memory out  then h reconciles it" in hand.screen()
        assert desk.survey.out_of_step
        await hand.press("h")
        assert isinstance(hand.app.screen_stack[-2], ReconcileScreen)


async def test_a_memory_that_began_anew_is_a_new_run(desk: Desk) -> None:
    for value in ("1", "1.1", "1.2"):
        desk.record(desk.weigh(value))
    change = Change(0.9, 3, -6, (), 2, "the memory was empty again before record 3")
    assert change_in_words(Kind.RESTARTED, change, desk.survey) == (
        "record 3 becomes 1 of a new run; next number 2"
    )
    desk.follow_explanation(change, "cleared", restarted=True)
    assert [(r.run, r.number) for r in desk.survey.records.values()] == [(1, 5), (1, 6), (2, 1)]
    assert desk.survey.next_number == 2
    assert desk.survey.run is not None and desk.survey.run.run == 2


async def test_an_empty_memory_agrees_with_nought_and_explains_more(
    workspace: Workspace, app_of: AppOf
) -> None:
    desk = begin_desk(workspace, next_number=1)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("c", "‹0›", "enter")
        assert "NUMBERS AGREE" in hand.screen()
        await hand.press("c", "‹3›", "enter")
        assert "Record: no reading of this memory run yet" in hand.screen()
    meter = replace(METER, first_number=0)
    desk = begin_desk(workspace, meter=meter, next_number=0)
    assert [each.kind for each in desk.explain_numbers(3)] == [Kind.UNANNOUNCED, Kind.MISHEARD]


def test_a_meter_that_files_values_only_spoils_no_number(workspace: Workspace) -> None:
    desk = begin_desk(workspace, meter=replace(METER, spoiled_number_stays_used=False))
    desk.record(desk.weigh("1"))
    assert Kind.SPOILED not in {each.kind for each in desk.explain_numbers(6)}
    with pytest.raises(WrongUseError, match="uses up no number"):
        desk.attempt("unstable contact", filed=True)


@pytest.mark.parametrize(
    ("probability", "words"), [(0.0, "<1 %"), (0.004, "<1 %"), (0.62, "62 %"), (0.9999, ">99 %")]
)
def test_percents_never_claim_certainty(probability: float, words: str) -> None:
    assert percent(probability) == words


async def test_the_next_value_called_out_answers_nothing(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "c", "‹7›", "enter")
        rows = hand.trail()
        await hand.press("‹12.4›", "enter", "‹1.05›", "enter", "‹0.7›", "enter")
        assert isinstance(hand.app.screen, NumberDriftScreen)
        assert hand.trail() == rows
        await hand.press("1", "enter", "‹1.2›", "enter")  # and at the places
        assert type(hand.app.screen).__name__ == "PlaceDialog"
        await hand.press("1", "enter", "‹12›", "enter", "‹1.05›", "enter")  # and at the reasons
        assert type(hand.app.screen).__name__ == "ReasonDialog"
        assert hand.trail() == rows


def test_no_number_stands_at_a_place_that_no_digit_reaches(workspace: Workspace) -> None:
    places = tuple(Change(0.08, n, -1, (n,), 12, f"record {n} was not stored") for n in range(1, 13))
    dialog = PlaceDialog(Explanation(Kind.NOT_STORED, 0.9, places), begin_desk(workspace).survey)
    assert [row.number for row in dialog._choices.rows] == [*range(1, 10), None, None, None]


# --- points -------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [LOW, HIGH])
async def test_the_drift_watch_opens_with_its_evidence(
    surveyed: Workspace, app_of: AppOf, size: tuple[int, int]
) -> None:
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk, size) as hand:
        await read_until_drift(hand, VALUES[:6] + VALUES[7:])
        screen = hand.screen()
        for words in (
            "RECORD AND PROBER MAY HAVE PARTED",
            "One point passed over:",
            "since record 7",
            "0.64 mΩ  SW-07       2.2 mΩ",
            "SW-08       0.64 mΩ  ◀ closer",
            "Readings from record 7 on belong 1 point further",
            "the section was walked from its far end",
            "Prober and record are in step after all",
            "Look first: nothing changes, a warning stays",
        ):
            assert words in screen, words
        before = hand.trail()
        await hand.press("escape")
        assert "look before the next reading" in hand.screen()
        assert hand.trail() == before


async def test_the_preview_comes_before_the_shift(surveyed: Workspace, app_of: AppOf) -> None:
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk) as hand:
        await read_until_drift(hand, VALUES[:6] + VALUES[7:])
        await hand.press("down", "enter")
        screen = hand.screen()
        assert "▶    7      0.64 mΩ  SW-07        → SW-08" in screen
        assert "6       1.1 mΩ  SW-06        stays" in screen
        assert "open again: SW-07. the walk goes on at SW-09" in screen
        await hand.press("escape")
        assert "◀ closer" in hand.screen()
        assert hand.rows("shift") == []
        await hand.press("enter", "up")
        assert "▶    6       1.1 mΩ  SW-06        → SW-07" in hand.screen()
        await hand.press("down", "right", "left", "enter", "1", "enter")
        (row,) = hand.rows("shift")
        assert (row["ref"], row["record"], row["point"], row["reason"]) == (
            "7", "7", "SW-08", "one point passed over",
        )  # fmt: skip
        assert hand.walk.desk.survey.records[7].point == "SW-08"
        assert "SW-09  Flap track 9 jumper" in hand.screen()
        await hand.press("‹1.7›", "enter")
        assert hand.app.screen is hand.walk  # in step: nothing to say


async def test_the_next_values_called_out_answer_nothing(surveyed: Workspace, app_of: AppOf) -> None:
    """The page opens by itself, while the recorder may look at the prober and go on keying."""
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk) as hand:
        await read_until_drift(hand, VALUES[:6] + VALUES[7:])
        rows = hand.trail()
        await hand.press("‹1.05›", "enter", "‹2›", "enter", "‹0.7›", "enter", "1")
        assert isinstance(hand.app.screen, PointDriftScreen)
        assert "Nothing keyed here is a reading: NOT RECORDED." in hand.screen()
        assert hand.trail() == rows
        await hand.press("up", "end", "enter")  # the last line: look first
        assert hand.app.screen is hand.walk
        assert hand.trail() == rows


async def test_a_voltage_called_out_does_not_lose_its_sign_to_the_page(
    surveyed: Workspace, app_of: AppOf
) -> None:
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk) as hand:
        await read_until_drift(hand, VALUES[:6] + VALUES[7:])
        page = hand.app.screen
        assert isinstance(page, PointDriftScreen)
        here = page._survey.here
        assert here is not None and page.minus_leaves
        by_volts = replace(here, method="reversed", repeats=2, rule="mean", current_ma=Decimal(1000))
        page._survey = replace(page._survey, points={**page._survey.points, here.id: by_volts})
        await hand.press("minus", "‹0.52›", "enter")
        assert hand.app.screen is page
        await hand.press("escape")
        assert hand.app.screen is hand.walk


async def test_a_value_at_the_preview_moves_nothing(surveyed: Workspace, app_of: AppOf) -> None:
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk) as hand:
        await read_until_drift(hand, VALUES[:6] + VALUES[7:])
        await hand.press("down", "enter")
        before = hand.screen()
        await hand.press("‹1.4›", "enter", "‹12›", "enter", "‹.9›", "enter", "‹0.7›", "enter")
        assert isinstance(hand.app.screen, PointDriftScreen)
        assert hand.screen() == before
        await hand.press("enter", "‹12.4›", "enter")
        assert type(hand.app.screen).__name__ == "ReasonDialog"
        assert hand.rows("shift") == []


async def test_verdicts_that_would_change_are_said(surveyed: Workspace, app_of: AppOf) -> None:
    text = route_text(12).replace('id = "SW-08"', 'id = "SW-08"\nexpected = { low = 0.5, high = 0.7 }')
    text = text.replace('title = "Flap track 8 jumper"\nwhere = "zone 620, WS 108"', 'title = "Flap track 8"')
    head, tail = text.split('title = "Flap track 8"')
    text = head + 'title = "Flap track 8"' + tail.replace("max = 2.5", "max = 0.6", 1)
    (surveyed.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk) as hand:
        await read_until_drift(hand, VALUES[:6] + VALUES[7:])
        await hand.press("down", "enter")
        assert "✓ pass → ✗ FAIL  changes" in hand.screen()
        assert "VERDICTS THAT CHANGE: 1" in hand.screen()


async def test_a_section_from_its_far_end(surveyed: Workspace, app_of: AppOf) -> None:
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk) as hand:
        await read_until_drift(hand, VALUES[::-1])
        await hand.press("down")
        while not any(
            "▶" in line and "walked from its far end" in line for line in hand.screen().splitlines()
        ):
            await hand.press("down")
        await hand.press("enter")
        while not hand.screen().count("▶    1 "):
            await hand.press("up")
        assert "SW-01        → SW-12" in hand.screen()
        await hand.press("enter", "2", "enter")
        (row,) = hand.rows("mirror")
        assert (row["ref"], row["point"]) == ("1", "SW-12")
        assert hand.walk.desk.survey.records[1].point == "SW-12"


async def test_in_step_after_all_is_a_note(surveyed: Workspace, app_of: AppOf) -> None:
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk) as hand:
        await read_until_drift(hand, VALUES[:6] + VALUES[7:])
        await hand.press("plus", "plus", "plus", "enter")
        assert hand.app.screen is hand.walk
        assert "in step" in hand.rows("note")[0]["note"]


async def test_what_cannot_be_done_is_said_and_not_taken(surveyed: Workspace, app_of: AppOf) -> None:
    desk = begin_desk(surveyed)
    async with walking(app_of(desk), desk) as hand:
        await read_until_drift(hand, VALUES[:6] + VALUES[7:])
        await hand.press("down", "enter", *(["right"] * 9))
        assert "would move to where there is no point" in hand.screen()
        await hand.press("enter")
        assert isinstance(hand.app.screen, PointDriftScreen)
        assert hand.rows("shift") == []


def test_readings_back_in_step_leave_only_those_before_to_be_moved() -> None:
    earlier = Alarm(7, 1, 0.9, 0.9, 5, 5, "one point passed over", ())
    now = Alarm(12, 0, 0.9, 0.9, 11, 10, "prober and record in step again", ())
    assert list(offered(now, earlier)) == [
        PointChoice(Remedy.SHIFT, 5, 1, last=10),
        PointChoice(Remedy.IN_STEP),
    ]
    assert [each.remedy for each in offered(now, None)] == [Remedy.IN_STEP]


def test_after_readings_moved_back_the_walk_goes_on_behind_the_last(surveyed: Workspace) -> None:
    desk = begin_desk(surveyed)
    for value in VALUES[:6]:
        entry = desk.weigh(value)
        desk.record(entry, "ok" if entry.doubts else "")
    desk.shift_points(4, -1, "point read twice")
    assert desk.survey.records[6].point == "SW-05"
    assert desk.survey.here is not None and desk.survey.here.id == "SW-06"


# --- the meter's own rules ----------------------------------------------------------------


@pytest.mark.parametrize(("stays_used", "numbers", "following"), [(True, [5, 6], 7), (False, [5, None], 6)])
async def test_an_entry_deleted_on_the_meter(
    workspace: Workspace, app_of: AppOf, stays_used: bool, numbers: list[int | None], following: int
) -> None:
    desk = begin_desk(workspace, meter=replace(METER, erased_number_stays_used=stays_used))
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter", "v", "enter", "slash")
        assert "its entry 6 was deleted on the meter: YES" in hand.screen()
        await hand.press("1")
        assert [row["ref"] for row in hand.rows("void")] == ["2"]
        assert [(row["ref"], row["note"]) for row in hand.rows("erase")] == [("2", "was 6 of run 1")]
        survey = hand.walk.desk.survey
        assert [record.number for record in survey.records.values()] == numbers
        assert survey.next_number == following


async def test_no_value_asks_for_a_number_only_where_the_meter_may_file_one(
    workspace: Workspace, app_of: AppOf
) -> None:
    desk = begin_desk(workspace, meter=replace(METER, spoiled_number_stays_used=False))
    async with walking(app_of(desk), desk) as hand:
        await hand.press("x")
        assert "filed it all the same" not in hand.screen()
        await hand.press("2")
        assert [row["number"] for row in hand.rows("attempt")] == [""]


class StillClock:
    """Stands still until it is moved."""

    seconds = 0.0

    def wall(self) -> datetime:
        return datetime(2031, 5, 6, 8, tzinfo=UTC) + timedelta(seconds=self.seconds)

    def elapsed(self) -> float:
        return self.seconds


async def test_the_countdown_to_the_meters_sleep_is_passive(workspace: Workspace) -> None:
    clock = StillClock()
    brief = Brief(
        job="J-100", crew=Crew("Ada", "Bo"), instrument=replace(METER, auto_off_s=300), next_number=5
    )
    desk = begin_session(workspace, workspace.load_route("wing"), brief, clock)
    async with walking(FieldApp(workspace, clock, desk=desk), desk) as hand:

        async def shown_at(seconds: float) -> str:
            clock.seconds = seconds
            hand.walk.look_at_clock()
            await hand.settle()
            return hand.screen()

        assert "itself off" not in await shown_at(1000)  # nothing was read yet
        await hand.press("‹1›", "enter")
        rows = hand.trail()
        assert "itself off" not in await shown_at(1230)
        assert "The meter switches itself off in 42 s" in await shown_at(1258.5)
        assert "has switched itself off by now" in await shown_at(1300)
        assert hand.trail() == rows
        await hand.press("‹1.1›", "enter")
        assert "itself off" not in await shown_at(1301)


# --- memory runs --------------------------------------------------------------------------


def small(workspace: Workspace) -> Desk:
    meter = Instrument(id="m2", title="two readings", memory_size=2, calibration_due=METER.calibration_due)
    return begin_desk(workspace, meter=meter, next_number=1)


async def test_a_full_memory_leads_to_the_next_run_and_warns(workspace: Workspace, app_of: AppOf) -> None:
    desk = small(workspace)
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "‹1.1›", "enter")
        assert "MEMORY FULL: f leads through" in hand.screen()
        await hand.press("f")
        assert "Memory run 1, FULL" in hand.screen()
        assert "NOT RECONCILED YET" in hand.screen()
        await hand.press("2", "enter", "2")
        assert "MEMORY RUN 1 IS NOT RECONCILED" in hand.screen()
        assert len(hand.rows("run")) == 1
        await hand.press("1")
        assert isinstance(hand.app.screen_stack[-2], ReconcileScreen)
        await hand.press("2", "enter", "‹1›", "enter", "‹1.1›", "enter", "enter", "1", "1", "escape")
        assert "reconciled" in hand.dialog()
        await hand.press("2", "enter", "2")
        assert [(row["run"], row["number"]) for row in hand.rows("run")] == [("1", "1"), ("2", "1")]


async def test_another_meter_is_a_run_with_its_name(desk: Desk, app_of: AppOf) -> None:
    async with walking(app_of(desk), desk) as hand:
        await hand.press("‹1›", "enter", "f", "3")
        for _ in range(100):  # the table of meters is read from the disk first
            if "not in shared/instruments.toml" in hand.dialog():
                break
            await hand.settle()
        unlisted = next(
            line for line in hand.dialog().splitlines() if "not in shared/instruments.toml" in line
        )
        await hand.press(unlisted.split()[0], "‹spare, serial 9›", "enter", "backspace", "‹17›", "enter")
        await hand.press("0", "‹battery low›", "enter")
        (meter,) = hand.rows("meter")
        assert meter["reason"] == "battery low" and '"title": "spare, serial 9"' in meter["note"]
        row = hand.rows("run")[-1]
        assert (row["run"], row["number"], row["reason"]) == ("2", "17", "battery low")
        assert "room not known" in hand.screen()


def test_what_leaves_a_page_of_drift_is_not_cut_off_in_80_columns() -> None:
    hints = [*PointDriftScreen._HINTS.values(), NumberDriftScreen.HINT]
    assert all(len(hint) <= 80 - 2 for hint in hints)  # with its padding


async def test_backspace_takes_a_value_off_the_page_as_it_says(desk: Desk, app_of: AppOf) -> None:
    record(desk, "1.38", "1.40")
    async with walking(app_of(desk), desk) as hand:
        await hand.press("c", "‹9›", "enter")
        assert isinstance(hand.app.screen, NumberDriftScreen)
        await hand.press("‹1.2›")
        assert "Enter or Backspace, then pick" in hand.screen()
        await hand.press("backspace", "1")
        assert "▶1" in hand.screen() and "Backspace" not in hand.screen()
