"""The brief: keyboard only, nothing begins while something blocks, every block says what it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from textual.events import Paste
from textual.pilot import Pilot

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Caution, CheckStandard, Instrument, Reasons, Tables
from fieldtui.core.survey.brief import STANDARD, Brief, blocks
from fieldtui.ui.screens.brief import BriefScreen
from fieldtui.ui.widgets.brief_answers import AMBIENT, JOB, NUMBER, PROBER, RECORDER, Keyed, understand
from fieldtui.ui.widgets.brief_form import METER as METER_FIELD
from fieldtui.ui.widgets.brief_form import BriefForm
from tests.ui.keystrokes import KEYPAD
from tests.ui.review_fixtures import (
    METER,
    PLAIN_METER,
    TODAY,
    heard_by,
    mohm,
    page_of,
    route_of,
    shown_screen,
    tables_of,
)
from tests.ui.walking import LOOK_S, LOOKS

SIZES = [(80, 24), (120, 40)]
LAPSED = replace(METER, calibration_due=date(2026, 1, 31))


def screen_for(tables: Tables | None = None, suggested: Brief | None = None) -> BriefScreen:
    return BriefScreen(route_of(), tables or tables_of(METER), TODAY, suggested=suggested)


def suggested(**changes: object) -> Brief:
    brief = Brief(
        job="JC-2207", crew=Crew("Ben", "Ana"), instrument=METER, next_number=17, standard=mohm("2.512")
    )
    return replace(brief, **changes)  # type: ignore[arg-type]


async def key(pilot: Pilot[None], *lines: str) -> None:
    """Each line keyed and left with Enter."""
    for line in lines:
        await pilot.press(*line, "enter")


@pytest.mark.parametrize("size", SIZES)
async def test_a_whole_brief_by_keyboard_alone(size: tuple[int, int]) -> None:
    async with shown_screen(screen_for(), size) as pilot:
        assert "✗ BLOCKED by 8" in page_of(pilot)
        await pilot.press("f3", "tab")
        await key(pilot, "Ben", "Ana", "JC-2207", "", "1", "2.512")
        await pilot.press("1", "enter", "1", "enter")
        await key(pilot, "18.5")
        assert "✓ READY: Enter on BEGIN THE WALK, the last line, or F5" in page_of(pilot)
        assert heard_by(pilot) == []
        await pilot.press("enter")
        (message,) = heard_by(pilot)
    assert isinstance(message, BriefScreen.Briefed)
    assert message.brief == Brief(
        job="JC-2207",
        crew=Crew("Ben", "Ana"),
        instrument=METER,
        next_number=1,
        ambient_c=Decimal("18.5"),
        standard=mohm("2.512"),
    )


@pytest.mark.parametrize("size", SIZES)
async def test_a_blocked_brief_does_not_begin_and_says_what_blocks(size: tuple[int, int]) -> None:
    async with shown_screen(screen_for(suggested=suggested()), size) as pilot:
        page = page_of(pilot)
        assert "✗ BLOCKED by 1: the walk cannot begin" in page
        assert "cautions read: the cautions were not read" in page
        await pilot.press("f5", "ctrl+s")
        assert heard_by(pilot) == []
        await pilot.press("f3", "ctrl+s")
        (message,) = heard_by(pilot)
    assert message.brief == suggested()


async def test_every_caution_can_be_read_to_its_last_word_and_enter_at_the_end_says_so() -> None:
    cautions = tuple(Caution(f"c{n}", f"Caution {n}", f"Words {n} " * 30) for n in range(8))
    async with shown_screen(screen_for(tables_of(METER, cautions=cautions))) as pilot:
        seen = page_of(pilot)
        assert "NOT READ YET" in seen
        pages = 0
        while "NOT READ YET" in page_of(pilot) and pages < 60:
            await pilot.press("enter")
            pages += 1
            seen += page_of(pilot)
        assert 3 < pages < 60
        assert all(f"Words {number}" in seen for number in range(8))
        assert "cautions read:" not in page_of(pilot)


async def test_a_lapsed_calibration_wants_a_reason_and_the_reason_goes_on_the_record() -> None:
    wanted = suggested(instrument=LAPSED)
    async with shown_screen(screen_for(tables_of(LAPSED), wanted), (120, 40)) as pilot:
        await pilot.press("f3")
        page = page_of(pilot)
        assert "LAPSED on 2026-01-31" in page
        assert "calibration: calibration lapsed on 2026-01-31" in page
        await pilot.press("f5")  # goes to where the reason is keyed
        await key(pilot, "loan meter arrives Friday")
        assert "OVERRIDDEN calibration: loan meter arrives Friday" in page_of(pilot)
        await pilot.press("f5")
        (message,) = heard_by(pilot)
    assert dict(message.brief.overrides) == {"calibration": "loan meter arrives Friday"}
    assert blocks(message.brief, TODAY) == {}


@pytest.mark.parametrize(
    ("value", "said", "blocked"),
    [
        ("2.55", "WITHIN 0.050 mΩ of 2.500 mΩ", False),
        ("2.551", "reads 2.551 mΩ, not within 0.050 mΩ of 2.500 mΩ", True),
        ("2500u", "WITHIN", False),
        ("2..5", "more than one point", True),
    ],
)
async def test_the_check_standard_is_judged_at_once(value: str, said: str, blocked: bool) -> None:
    async with shown_screen(screen_for(suggested=suggested(standard=None)), (120, 40)) as pilot:
        await pilot.press("f3", *["tab"] * 6, *value)
        page = page_of(pilot)
    assert said in " ".join(page.split())
    assert ("✗ BLOCKED" in page) is blocked
    assert ("✓ READY" in page) is not blocked


async def test_a_weak_battery_blocks_until_a_reason_is_given() -> None:
    async with shown_screen(screen_for(suggested=suggested(battery_good=False)), (120, 40)) as pilot:
        await pilot.press("f3")
        assert "battery: the battery is weak" in page_of(pilot)
        await pilot.press("f5", "right")
        assert "✓ READY" in page_of(pilot)


async def test_a_meter_without_a_memory_asks_for_no_number_and_no_standard() -> None:
    async with shown_screen(screen_for(tables_of(METER, PLAIN_METER)), (120, 40)) as pilot:
        assert "meter: choose it" in page_of(pilot)
        await pilot.press(*["tab"] * 4, "1")
        page = page_of(pilot)
        assert "Next memory number" in page
        assert "Check standard, mΩ" in page
        await pilot.press("right")
        page = page_of(pilot)
    assert "Meter without a memory" in page
    assert "Next memory number" not in page
    assert "Check standard" not in page
    assert "LAPSED on 2026-01-31" in page


COARSE = Instrument(
    id="coarse",
    title="Insulation tester",
    memory_size=40,
    unit=Unit.KOHM,
    calibration_due=date(2027, 1, 31),
    check_standard=CheckStandard(
        Resistance(Decimal("2.5"), Unit.KOHM), Resistance(Decimal("0.1"), Unit.KOHM), "resistor in the case"
    ),
)


async def test_what_was_keyed_of_one_meter_is_never_said_of_another() -> None:
    """2.70 read in mΩ is no 2.70 kΩ, and a good check of one meter says nothing of the next."""
    async with shown_screen(screen_for(tables_of(METER, COARSE)), (120, 40)) as pilot:
        await pilot.press("f3", *["tab"] * 4, "1", "enter")
        await key(pilot, "17", "2.70")
        await key(pilot, "loan meter")  # the reason to go on with a standard that reads too high
        await pilot.press("2")  # the battery is weak
        form = pilot.app.screen.query_one(BriefForm)
        form.fields[METER_FIELD].focus_answer()

        def said() -> tuple[object, ...]:
            answered = form.keyed(cautions_read=True)
            return (
                answered.texts[NUMBER],
                answered.texts[STANDARD],
                answered.overrides[STANDARD],
                answered.battery_good,
            )

        keyed_of_first = ("17", "2.70", "loan meter", False)
        assert said() == keyed_of_first
        assert form.meter is METER
        await pilot.press("2")
        assert form.meter is COARSE
        assert said() == ("", "", "", None)
        page = page_of(pilot)
        assert "2.70" not in page and "loan meter" not in page
        assert "check standard: the check standard of 2.5 kΩ was not read" in page
        await pilot.press("enter")
        await key(pilot, "3", "2.55")
        form.fields[METER_FIELD].focus_answer()
        await pilot.press("1")
        assert said() == keyed_of_first
        await pilot.press("2")
        assert said() == ("3", "2.55", "", None)


async def test_what_was_answered_before_a_meter_was_chosen_stays() -> None:
    async with shown_screen(screen_for(tables_of(METER, PLAIN_METER)), (120, 40)) as pilot:
        form = pilot.app.screen.query_one(BriefForm)
        await pilot.press("f3", *["tab"] * 5, "1")  # the battery
        assert form.keyed(cautions_read=True).battery_good is True
        await pilot.press("up", "1")
        assert form.meter is METER
        assert form.keyed(cautions_read=True).battery_good is True


@pytest.mark.parametrize("size", SIZES)
async def test_before_a_meter_is_chosen_all_else_that_blocks_is_told_at_once(size: tuple[int, int]) -> None:
    """And nothing that only a meter would ask for, nor that the route asks for nothing."""
    async with shown_screen(screen_for(tables_of(METER, PLAIN_METER)), size) as pilot:
        page = page_of(pilot)
        assert "✗ BLOCKED by 7" in page  # cautions, prober, recorder, job, meter, battery, tips
        assert "cautions read: the cautions were not read" in page
        assert "prober, recorder, job reference: missing" in page
        assert "meter: choose it" in page or "more; F5" in page
        for words in ("Decision rule", "Temperature  ", "asked for", "Check standard", "Next memory number"):
            assert words not in page
        await pilot.press("f5", "f3", "tab", *["tab"] * 3, "1")
        assert "✗ BLOCKED by 7" in page_of(pilot)  # without cautions and meter, with number and standard


@pytest.mark.parametrize("size", SIZES)
async def test_every_meter_is_named_whole_a_line_each_while_one_is_chosen(size: tuple[int, int]) -> None:
    def words(pilot: Pilot[None]) -> str:
        bars = dict.fromkeys(map(ord, "▁▂▃▄▅▆▇█"), " ")  # the bar that says where the form stands
        return " ".join(page_of(pilot).translate(bars).split())

    title = "Four-wire bond meter of the long hangar, number"
    meters = [replace(METER, id=f"m{n}", title=f"{title} {n}", serial=f"00{n}") for n in range(1, 13)]
    async with shown_screen(screen_for(tables_of(*meters)), size) as pilot:
        await pilot.press(*["tab"] * 4)
        page = words(pilot)
        assert all(f"{n} {title} {n}, serial 00{n}" in page for n in (1, 2, 3, 4)), page
        assert "▶" not in page
        await pilot.press("1", "2")  # two digits name one
        assert f"▶12 {title} 12, serial 0012" in words(pilot)
        await pilot.press("enter", *"17")
        page = words(pilot)
        assert f"▶12 {title} 12, serial 0012" in page
        assert f"{title} 11," not in page  # there is room again for what else is asked
        await pilot.press("up")
        for _ in range(LOOKS):  # the list opens first, and is brought into sight once it has
            if "▶" in words(pilot):
                break
            await pilot.pause(LOOK_S)
        assert f"▶12 {title} 12, serial 0012" in words(pilot)  # wherever in the list it stands
        await pilot.press("3", "left")
        assert f"▶ 2 {title} 2, serial 002" in words(pilot)


async def test_the_numeric_keypad_is_enough_for_a_brief_and_for_a_reason() -> None:
    reasons = Reasons({"override": ("told to by the person in charge", "paper is on its way")})
    lapsed = replace(LAPSED, id="m2", title="Other meter")
    tables = replace(tables_of(METER, lapsed), reasons=reasons)
    async with shown_screen(screen_for(tables)) as pilot:
        keys = "enter 7 enter 8 enter 2 2 0 7 enter 2 enter".split()  # cautions, names, job, meter
        assert set(keys) <= KEYPAD
        await pilot.press(*keys)
        said = "1 told to by the person in charge 2 paper is on its way or own words"
        assert said in " ".join(page_of(pilot).split())
        keys = "2 enter 1 7 enter 2 full_stop 5 enter 1 enter 1 enter enter".split()
        await pilot.press(*keys)
        assert "OVERRIDDEN calibration: paper is on its way" in page_of(pilot)
        assert heard_by(pilot) == []
        await pilot.press("enter")
        (message,) = heard_by(pilot)
    assert (message.brief.crew, message.brief.job) == (Crew("7", "8"), "2207")
    assert dict(message.brief.overrides) == {"calibration": "paper is on its way"}
    assert message.brief.next_number == 17


async def test_a_reason_of_the_crew_s_own_may_be_a_number_that_no_reason_has() -> None:
    tables = replace(tables_of(LAPSED), reasons=Reasons({"override": ("told to",)}))
    async with shown_screen(screen_for(tables, suggested(instrument=LAPSED)), (120, 40)) as pilot:
        await pilot.press("f3", "f5", "7", "enter")
        assert "OVERRIDDEN calibration: 7" in page_of(pilot)


async def test_enter_on_the_last_line_leads_to_what_blocks_and_begins_nothing() -> None:
    async with shown_screen(screen_for(suggested=suggested(tips_good=True, job="")), (120, 40)) as pilot:
        await pilot.press("f3", "shift+tab")
        assert "still blocked: Enter leads to the first thing" in page_of(pilot)
        await pilot.press("enter", *"JC-9")
        assert heard_by(pilot) == []
        assert "Job reference         JC-9" in page_of(pilot)
        await pilot.press("f5")
        (message,) = heard_by(pilot)
    assert message.brief.job == "JC-9"


async def test_a_failed_standard_says_what_going_on_means() -> None:
    async with shown_screen(screen_for(suggested=suggested(standard=mohm("2.7"))), (120, 40)) as pilot:
        page = " ".join(page_of(pilot).split())
    assert "Gone on with all the same, its readings are IN DOUBT until a good check" in page


@pytest.mark.parametrize(("keys", "is_left"), [("escape", True), ("1", True), ("enter", False), ("x", False)])
async def test_a_brief_with_answers_is_left_once_that_is_said(keys: str, is_left: bool) -> None:
    async with shown_screen(screen_for(tables_of(METER, cautions=()))) as pilot:
        await pilot.press(*"Ben", "escape")
        assert heard_by(pilot) == []
        assert "what was keyed here is lost" in page_of(pilot)
        await pilot.press(keys)
        assert bool(heard_by(pilot)) is is_left
        if not is_left:
            assert "Prober                Ben" in page_of(pilot)


async def test_a_brief_in_which_nothing_was_keyed_is_left_at_once() -> None:
    async with shown_screen(screen_for(suggested=suggested())) as pilot:
        await pilot.press("f3", "escape")
        (message,) = heard_by(pilot)
    assert isinstance(message, BriefScreen.Left)


async def test_help_lists_what_leads_through_the_brief() -> None:
    async with shown_screen(screen_for()) as pilot:
        await pilot.press("f1")
        page = page_of(pilot)
    for keys in ("Enter ", "1 2 ← →", "↑ ↓", "BEGIN THE WALK"):
        assert keys in page


async def test_q_leaves_where_no_text_is_being_keyed() -> None:
    async with shown_screen(screen_for()) as pilot:
        await pilot.press("tab", "q")
        assert heard_by(pilot) == []  # a letter of the prober's name
        await pilot.press("shift+tab", "q", "escape")
        (message,) = heard_by(pilot)
    assert isinstance(message, BriefScreen.Left)


async def test_once_they_are_read_enter_does_not_page_the_cautions_again() -> None:
    cautions = tuple(Caution(f"c{n}", f"Caution {n}", f"Words {n} " * 30) for n in range(8))
    async with shown_screen(screen_for(tables_of(METER, cautions=cautions))) as pilot:
        await pilot.press("f3", "enter", *"Ben")
        assert "Prober                Ben" in page_of(pilot)


async def test_a_meter_too_coarse_for_the_limits_is_told_and_blocks_nothing() -> None:
    accuracy = Accuracy(Decimal(1), mohm("0.1"), resolution=mohm("1"))
    coarse = replace(METER, accuracy=accuracy)
    brief = suggested(instrument=coarse)
    async with shown_screen(screen_for(tables_of(coarse), brief), (120, 40)) as pilot:
        await pilot.press("f3")
        page = page_of(pilot)
    assert "! TOO COARSE for" in page
    assert "✓ READY" in page


async def test_arrows_move_between_the_lines_and_escape_goes_back() -> None:
    async with shown_screen(screen_for(tables_of(METER, cautions=()))) as pilot:
        await pilot.press(*"Ben", "down", *"Ana", "down", *"JC", "up", "end", *"h")
        page = page_of(pilot)
        assert "Prober                Ben" in page
        assert "Recorder              Anah" in page
        await pilot.press("escape", "escape")
        (message,) = heard_by(pilot)
    assert isinstance(message, BriefScreen.Left)


async def test_the_state_stays_in_sight_at_the_smallest_size_wherever_the_form_stands() -> None:
    async with shown_screen(screen_for(), (80, 24)) as pilot:
        for _ in range(12):
            await pilot.press("tab")
            assert "✗ BLOCKED by" in page_of(pilot)
            assert "begin" in page_of(pilot).splitlines()[-1]


async def test_hostile_text_from_tables_and_route_is_shown_as_it_is() -> None:
    evil = "[bold]x[/] [P-014] \x1b[2J\u202e"
    shown = "[bold]x[/] [P-014] \\u{1b}[2J\\u{202e}"
    meter = replace(METER, title=evil, serial="")
    tables = tables_of(meter, cautions=(Caution("c", evil, evil),))
    screen = BriefScreen(route_of(title=evil, asset=evil), tables, TODAY)
    async with shown_screen(screen, (120, 40)) as pilot:
        page = page_of(pilot)
    assert page.count(shown) == 6  # title twice, caution twice, asset, meter
    assert "\x1b" not in page


async def test_a_paste_that_could_drive_a_terminal_is_refused_whole_in_words() -> None:
    async with shown_screen(screen_for(suggested=suggested(job="")), (120, 40)) as pilot:
        await pilot.press("f3", "tab", "tab", "tab")
        assert pilot.app.focused is not None
        pilot.app.focused.post_message(Paste("JC\x1b[2J"))
        await pilot.pause()
        page = page_of(pilot)
    assert "not pasted: character \\u{1b} is not allowed" in " ".join(page.split())
    assert "job reference: missing" in page


def test_text_that_may_not_enter_the_record_is_refused_in_words() -> None:
    understood = understand(keyed(job="JC\u200b"))
    assert understood.mistakes == {JOB: "character \\u{200b} is not allowed"}


async def test_without_any_meter_nothing_begins() -> None:
    empty = Tables({}, {}, tables_of().reasons, ())
    async with shown_screen(screen_for(empty)) as pilot:
        assert "meter: none is known" in page_of(pilot)
        await pilot.press("f5")
        assert heard_by(pilot) == []


# --- the answers by themselves -------------------------------------------------------------


def keyed(**texts: str) -> Keyed:
    every = {JOB: "JC", PROBER: "Ben", RECORDER: "Ana", NUMBER: "1", "check standard": "2.5", AMBIENT: ""}
    named = {"number": NUMBER, "ambient": AMBIENT, "job": JOB, "prober": PROBER}
    every.update({named[name]: text for name, text in texts.items()})
    return Keyed(METER, every, battery_good=True, tips_good=True, cautions_read=True)


@pytest.mark.parametrize(
    ("number", "why"),
    [
        ("0", "0: this memory goes from 1 to 128"),
        ("129", "129: this memory goes from 1 to 128"),
        ("", "look at the meter; 1 where its memory is empty"),
        ("1.5", "1.5: a memory number is digits only"),
    ],
)
def test_a_memory_number_the_meter_cannot_show_is_refused(number: str, why: str) -> None:
    understood = understand(keyed(number=number))
    assert understood.mistakes == {NUMBER: why}
    assert understood.brief.next_number is None


@pytest.mark.parametrize("number", ["1", "128", "017"])
def test_a_memory_number_in_range_is_taken(number: str) -> None:
    assert understand(keyed(number=number)).brief.next_number == int(number)


@pytest.mark.parametrize(("text", "good"), [("-12.5", True), ("80", True), ("81", False), ("warm", False)])
def test_an_ambient_temperature_is_taken_in_degrees_or_refused(text: str, good: bool) -> None:
    understood = understand(keyed(ambient=text))
    assert understood.brief.ambient_c == (Decimal(text) if good else None)
    assert (AMBIENT in understood.mistakes) is not good


def test_an_unanswered_battery_blocks_though_nothing_says_it_is_weak() -> None:
    understood = understand(replace(keyed(), battery_good=None))
    assert understood.stops(TODAY) == {"battery": "say whether it is good"}


def test_cautions_cannot_be_overridden() -> None:
    brief = understand(replace(keyed(), cautions_read=False, overrides={"cautions read": "in a hurry"})).brief
    assert blocks(brief, TODAY) == {"cautions read": "the cautions were not read"}
