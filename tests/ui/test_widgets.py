"""The parts of the walk by themselves."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from textual.color import Color
from textual.content import Content
from textual.geometry import Region

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Result
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.ui.app import FieldApp
from fieldtui.ui.phrases import DOUBT, STATES, VERDICTS, VOID, limit_in_words, reading_row
from fieldtui.ui.themes import LIGHTS, light_after
from fieldtui.ui.widgets.alerts import alerts_of
from fieldtui.ui.widgets.key_bar import key_lines
from fieldtui.ui.widgets.point_card import Field, PointCard, lay_out
from fieldtui.ui.widgets.progress import counts_in_words, strip, time_left
from tests.ui.walking import HIGH, LOW, Ticking, begin_desk, route_text, walking

START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)

# --- the point card -----------------------------------------------------------------------


def test_each_field_gets_a_line_and_the_heaviest_the_spare_ones() -> None:
    long = Content("one two three four five six")
    fields = [Field("a", long, 1), Field("b", long, 9), Field("c", Content("short"), 5)]
    lines = lay_out(fields, 25, 4).plain.splitlines()
    assert [line.rstrip() for line in lines] == [
        " a        one two three …",
        " b        one two three",
        "          four five six",
        " c        short",
    ]


def test_where_lines_are_short_the_lightest_field_goes() -> None:
    fields = [Field(name, Content(name), weight) for name, weight in (("a", 2), ("b", 1), ("c", 3))]
    assert [line.split()[0] for line in lay_out(fields, 30, 2).plain.splitlines()] == ["a", "c"]


@pytest.mark.parametrize("width", [1, 5, 14, 80])
@pytest.mark.parametrize("height", [0, 1, 3])
def test_any_size_can_be_laid_out(width: int, height: int) -> None:
    fields = [Field("CAUTION", Content("mind the 漢字 gap " * 9), 10), Field("A", Content("x"), 1)]
    text = lay_out(fields, width, height)
    assert len(text.plain.splitlines()) <= max(1, height)


# --- progress -----------------------------------------------------------------------------


def test_the_strip_shows_each_point_as_a_shape(desk: Desk) -> None:
    desk.record(desk.weigh("1"))
    desk.record(desk.weigh("3"))
    desk.skip("fog")
    assert strip(desk.survey, 76).plain == "✓✗»▲"


def test_a_long_route_shows_the_worst_of_several_points(workspace: Workspace) -> None:
    (workspace.root / "routes" / "wing.toml").write_text(route_text(30), encoding="utf-8")
    desk = begin_desk(workspace)
    for value in ("1", "1.1", "3", "1.2", "1.3", "1.4", "1.5"):
        desk.record(desk.weigh(value))
    assert strip(desk.survey, 10).plain == "✗✓▲○○○○○○○"


def test_time_left_follows_the_pace(desk: Desk) -> None:
    assert time_left(desk.survey) == ""
    for value in ("1", "1.1", "1.2"):
        desk.record(desk.weigh(value))
    assert time_left(desk.survey) == ""  # too few to tell a pace
    desk.redo("again")
    desk.record(desk.weigh("1.3"))
    assert time_left(desk.survey) == "1 min left"


def test_counts_say_every_state_in_a_word(desk: Desk) -> None:
    desk.record(desk.weigh("1"))
    desk.attempt("not accessible")
    assert counts_in_words(desk.survey, 200).plain == (
        "1 of 4 settled  ✓ 1 passed  # 1 inaccessible  ○ 2 open  section SW 1/4"
    )


@pytest.mark.parametrize("width", [118, 98, 78, 62])
def test_where_the_line_is_short_the_words_are_and_no_count_goes(workspace: Workspace, width: int) -> None:
    (workspace.root / "routes" / "wing.toml").write_text(route_text(30), encoding="utf-8")
    with begin_desk(workspace) as desk:
        for value in ("1", "1.1", "1.2", "3"):
            desk.record(desk.weigh(value))
        desk.attempt("not accessible")
        desk.skip("fog")
        line = counts_in_words(desk.survey, width)
    settled = f"{desk.survey.settled} of 30"
    whole = [f"{settled} settled", "✓ 3 passed", "✗ 1 FAILED", "# 1 inaccessible", "» 1 skipped", "○ 24 open"]
    short = [settled, "✓3 pass", "✗1 FAIL", "#1 no access", "»1 skip", "○24 open"]
    assert [words for words in (whole if width == 118 else short) if words not in line.plain] == []
    assert f"SW {desk.survey.settled}/30" in line.plain
    assert line.cell_length <= width


def test_readings_in_doubt_have_a_shape_and_words_of_their_own(desk: Desk) -> None:
    for value in ("1", "3"):
        desk.record(desk.weigh(value))
    check = ev.StandardRead(
        time=START, by="Ana", reading=parse_resistance("2.9", Unit.MOHM), verdict=ev.Answer.BAD,
        ref=ev.CheckTime.INTERVAL,
    )  # fmt: skip
    survey = desk.survey.after(check)
    assert strip(survey, 76).plain == "??▲○"
    assert (
        "0 of 4 settled  ✓ 1 passed  ✗ 1 FAILED  ○ 2 open  ? 2 of them IN DOUBT"
        in counts_in_words(survey, 200).plain
    )
    rows = [reading_row(survey.records[n], survey, {1, 2}).plain for n in (1, 2)]
    assert "? IN DOUBT, pass" in rows[0]
    assert "? IN DOUBT, FAIL" in rows[1]
    assert "IN DOUBT" not in reading_row(survey.records[1], survey).plain
    let_stand = survey.after(ev.Released(time=START, by="Ana", ref=1, reason="compared"))
    assert strip(let_stand, 76).plain == "✓?▲○"
    assert "let stand: compared" in reading_row(let_stand.records[1], let_stand).plain


def test_an_earlier_verdict_in_doubt_is_shown_as_that_on_the_card(desk: Desk) -> None:
    before = Result((), parse_resistance("1.31", Unit.MOHM), Verdict.PASS)
    cards = [PointCard({"SW-01": before}, doubted) for doubted in (frozenset[str](), frozenset({"SW-01"}))]
    told = [
        {field.label: field.content.plain for field in card._fields(desk.survey)}["before"] for card in cards
    ]
    assert told == ["1.31 mΩ  ✓ pass", "1.31 mΩ  ? IN DOUBT, pass"]


# --- words and shapes ---------------------------------------------------------------------


def test_every_state_and_verdict_has_its_own_shape_and_word() -> None:
    assert set(STATES) == set(State)
    for marks in ([*STATES.values(), DOUBT], [*VERDICTS.values(), VOID, DOUBT]):
        assert len({mark.shape for mark in marks}) == len({mark.word for mark in marks}) == len(marks)
        assert all(len(mark.shape) == 1 for mark in marks)


def test_limits_in_words(desk: Desk) -> None:
    from fieldtui.core.measurement.ohms import Unit
    from fieldtui.core.plan.inserted import parse_limit

    said = {
        text: limit_in_words(parse_limit(text, Unit.MOHM)) for text in (">= 1 Mohm and < 10 Mohm", "2.5", "")
    }
    assert list(said.values()) == ["at least 1 MΩ and less than 10 MΩ", "at most 2.5 mΩ", "none: record only"]
    in_ohm = parse_limit("<= 0.003 ohm", Unit.OHM)
    assert limit_in_words(in_ohm, Unit.MOHM) == "at most 0.003 Ω = 3 mΩ"
    assert limit_in_words(in_ohm, Unit.OHM) == "at most 0.003 Ω"


def test_alerts_come_worst_first(desk: Desk) -> None:
    assert alerts_of(desk.survey) == []
    desk.record(desk.weigh("1"))
    desk.skip("fog")
    assert [alert.split(":")[0] for alert in alerts_of(desk.survey)] == ["Number check due (after a skip)"]
    desk.check_number(9)
    assert [alert.split(":")[0] for alert in alerts_of(desk.survey)] == ["OUT OF STEP"]


@pytest.mark.parametrize(("width", "lines"), [(78, 2), (118, 2), (300, 1)])
def test_the_keys_fit_and_are_never_parted(width: int, lines: int) -> None:
    bar = key_lines("walk", width)
    assert len(bar) <= lines
    assert all(line.cell_length <= width for line in bar)
    assert bar[-1].plain.endswith("F1 help")  # nothing fell off


# --- light --------------------------------------------------------------------------------


def contrast(a: Color, b: Color) -> float:
    """Contrast ratio, WCAG 2.1 (relative luminance, then (L1 + 0.05) / (L2 + 0.05))."""

    def luminance(color: Color) -> float:
        parts = [part / 255 for part in color.rgb]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_on_white() -> None:
    assert contrast(Color(0, 0, 0), Color(255, 255, 255)) == pytest.approx(21)  # WCAG 2.1


def drawn_contrasts(app: FieldApp, inside: Region) -> dict[str, float]:
    """The contrast of every text that begins inside a part of the screen, by the text."""
    found = {}
    for y, strip_ in enumerate(app.screen._compositor.render_strips(app.size)):
        x = 0
        for segment in strip_:
            start, x = x, x + segment.cell_length
            style = segment.style
            if not segment.text.strip() or (start, y) not in inside:
                continue
            assert style is not None
            assert style.color is not None
            assert style.bgcolor is not None
            ink, ground = Color.from_rich_color(style.color), Color.from_rich_color(style.bgcolor)
            found[segment.text] = contrast(ink, ground)
    return found


@pytest.mark.parametrize("light", [theme.name for theme in LIGHTS])
@pytest.mark.parametrize("size", [LOW, HIGH])
async def test_every_text_has_a_contrast_of_seven_to_one(
    desk: Desk, workspace: Workspace, light: str, size: tuple[int, int]
) -> None:
    app = FieldApp(workspace, Ticking(), desk=desk)
    async with walking(app, desk, size) as hand:
        app.theme = light
        await hand.press("‹1›", "enter", "‹3›", "enter", "s", "1", "v", "enter", "1", "‹1.2›")
        contrasts = drawn_contrasts(app, app.screen.region)
        assert len(contrasts) > 30
        assert {text: ratio for text, ratio in contrasts.items() if ratio < 7} == {}
        await hand.press("escape", "t")
        dialog = drawn_contrasts(app, app.screen.query_one(".dialog").region)
        said = " ".join(dialog)
        assert "Take SW-02 again" in said
        assert "probe slipped" in said
        assert "second opinion" in said
        assert {text: ratio for text, ratio in dialog.items() if ratio < 7} == {}


def test_lights_go_round() -> None:
    names = [theme.name for theme in LIGHTS]
    assert [light_after(name) for name in names] == [*names[1:], names[0]]
    assert light_after("some other theme") == names[0]
