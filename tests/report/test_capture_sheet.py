"""The capture sheet: numbers as the meter will count, every point with what the crew must know."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path

import pytest

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.plan.route import RECORD_ONLY, Point, Route
from fieldtui.core.plan.tables import Caution, Instrument, Reasons, Tables
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import NotSavedError, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.sheet import ACTIONS, parse_sheet
from fieldtui.report.capture.csv import format_capture_csv
from fieldtui.report.capture.files import write_capture_sheet
from fieldtui.report.capture.html import format_capture_html
from fieldtui.report.capture.sheet import (
    EXCEPTIONS,
    CaptureSheet,
    CheckLine,
    ReadingLine,
    RunLine,
    SectionLine,
    make_sheet,
)
from fieldtui.report.capture.text import WIDTH, format_capture_text
from tests.desk.scenes import METER, Scene

ROOT = Path(__file__).resolve().parents[2]
TABLES = Tables(
    {}, {}, Reasons({"skip": ("paint", "rain")}), (Caution("c", "Static", "Discharge it first."),)
)
HOSTILE = "</td><script>x</script>&\x1b[2J\u202e"


@pytest.fixture
def route(tmp_path: Path) -> Route:
    """Five points in two sections, one of three readings, a number check every four readings."""
    return Scene(tmp_path).workspace.load_route("wing").route


def sheet_of(route: Route, meter: Instrument | None) -> CaptureSheet:
    return make_sheet(route, TABLES, meter)


def numbers(sheet: CaptureSheet) -> list[str]:
    """Each line in a word: record/memory, a run with its number, a check."""
    words = []
    for line in sheet.lines:
        match line:
            case ReadingLine():
                words.append(f"{line.record}/{line.memory}:{line.point.id}")
            case RunLine():
                words.append(f"run {line.run} from {line.number}")
            case CheckLine():
                words.append("check")
            case SectionLine():
                words.append(line.title)
    return words


def test_record_and_memory_numbers_run_on_and_begin_again_where_the_memory_is_full(route: Route) -> None:
    meter = replace(METER, memory_size=3, first_number=0)
    assert numbers(sheet_of(route, meter)) == [
        "run 1 from 0", "Starboard wing", "1/0:SW-01", "2/1:SW-02", "3/2:SW-03", "run 2 from 0", "4/0:SW-03",
        "check", "5/1:SW-03", "Hull", "6/2:HU-01", "run 3 from 0", "7/0:HU-02",
    ]  # fmt: skip


def test_a_memory_that_is_just_full_at_the_end_begins_no_further_run(route: Route) -> None:
    assert sheet_of(route, replace(METER, memory_size=7)).runs == 1
    assert sheet_of(route, replace(METER, memory_size=6)).runs == 2


@pytest.mark.parametrize("meter", [None, replace(METER, memory_size=0)], ids=["no meter", "no memory"])
def test_without_a_memory_no_memory_numbers_are_printed(route: Route, meter: Instrument | None) -> None:
    sheet = sheet_of(route, meter)
    assert numbers(sheet)[:3] == ["Starboard wing", "1/None:SW-01", "2/None:SW-02"]
    assert (sheet.readings, sheet.runs) == (7, 0)
    assert "check" not in numbers(sheet)
    assert "None" not in format_capture_text(sheet) + format_capture_html(sheet)


def test_no_check_is_printed_where_the_route_wants_none(route: Route) -> None:
    assert "check" not in numbers(sheet_of(replace(route, check_every=0), METER))


class Page(HTMLParser):
    """The texts of a page, and every tag with its attributes."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(html)
        self.text = " ".join(" ".join(self.texts).split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def everything_of(point: Point) -> list[str]:
    texts = [
        point.id,
        point.title,
        point.where,
        point.a,
        point.b,
        point.condition,
        point.prepare,
        point.restore,
    ]
    return [text for text in (*texts, point.caution, str(point.limit)) if text]


@pytest.mark.parametrize("name", ["airframe-bonds", "hangar-ground", "jetty-static"])
def test_page_and_text_hold_all_the_crew_must_know(name: str) -> None:
    workspace = Workspace(ROOT, Disk())
    route, tables = workspace.load_route(name).route, workspace.tables()
    sheet = make_sheet(route, tables, tables.instruments["small-meter"])
    page = Page(format_capture_html(sheet)).text
    text = " ".join(format_capture_text(sheet).split())
    for form in (page, text):
        assert route.title in form
        assert "0417" in form
        assert all(caution.title in form for caution in tables.cautions)
        assert "2.500 mΩ within 0.050 mΩ" in form
    for point in route.points:
        for told in everything_of(point):
            assert told in page, (point.id, told)
            assert " ".join(told.split()) in text, (point.id, told)
    for word, _ in EXCEPTIONS:
        assert all(reason in page for reason in tables.reasons.of(word))


def test_the_exceptions_are_the_actions_of_a_sheet() -> None:
    assert {"reading", *(word for word, _ in EXCEPTIONS)} == set(ACTIONS)


def test_the_page_needs_nothing_else_and_prints(route: Route) -> None:
    html = format_capture_html(sheet_of(route, METER))
    tags = Page(html).tags
    assert not [tag for tag, _ in tags if tag in ("script", "img", "link", "iframe", "object", "a")]
    assert not [attrs for _, attrs in tags if "src" in attrs or "href" in attrs]
    assert "url(" not in html
    assert "default-src 'none'" in html
    assert "@page" in html
    assert "display: table-header-group" in html  # the head of the table on every page
    assert "break-inside: avoid" in html  # no point across two pages
    for size in re.findall(r"\.value \{[^}]*height: ([0-9]+)mm", html):
        assert int(size) >= 10  # room for a gloved hand
    assert html.count('class="value"') == 7


def test_the_text_fits_its_width_and_has_room_for_every_reading(route: Route) -> None:
    long = replace(route.points[0], title="T" * 120, caution="very " * 60)
    text = format_capture_text(sheet_of(replace(route, points=(long, *route.points[1:])), METER))
    assert max(map(len, text.splitlines())) <= WIDTH
    assert text.count("[__________________]") == 7
    assert text.count("pass [ ]  fail [ ]") == 6  # HU-02 is for the record only
    assert text.isprintable() is False
    assert not [c for c in text if not c.isprintable() and c != "\n"]


def test_hostile_texts_are_shown_and_drive_nothing(route: Route) -> None:
    point = replace(route.points[0], title=HOSTILE, where=HOSTILE, a=HOSTILE, b=HOSTILE, caution=HOSTILE)
    tables = replace(
        TABLES, cautions=(Caution("c", HOSTILE, HOSTILE),), reasons=Reasons({"void": (HOSTILE,)})
    )
    meter = replace(METER, title=HOSTILE, serial=HOSTILE)
    sheet = make_sheet(replace(route, title=HOSTILE, asset=HOSTILE, points=(point,)), tables, meter)
    html, text = format_capture_html(sheet), format_capture_text(sheet)
    for form in (html, text):
        assert "\x1b" not in form
        assert "\u202e" not in form
        assert "\\u{1b}" in form
    assert not [tag for tag, _ in Page(html).tags if tag == "script"]
    assert html.count("<script") == 0


def test_the_csv_is_a_sheet_that_only_wants_values(route: Route) -> None:
    data = format_capture_csv(sheet_of(route, replace(METER, memory_size=3, first_number=0)))
    sheet = parse_sheet(data, "sheet.csv")
    assert {problem.what for problem in sheet.problems} == {
        "a reading without a value", "the last memory number is missing",
    }  # fmt: skip
    assert [(line.action, line.point, line.record, line.memory) for line in sheet.lines] == [
        ("run", "", None, 0),
        ("reading", "SW-01", 1, 0),
        ("reading", "SW-02", 2, 1),
        ("reading", "SW-03", 3, 2),
        ("run", "", None, 0),
        ("reading", "SW-03", 4, 0),
        ("number", "", None, None),
        ("reading", "SW-03", 5, 1),
        ("reading", "HU-01", 6, 2),
        ("run", "", None, 0),
        ("reading", "HU-02", 7, 0),
    ]


def test_a_sheet_that_is_there_is_never_replaced_unasked(route: Route, tmp_path: Path) -> None:
    sheet = sheet_of(route, METER)
    files = write_capture_sheet(Disk(), sheet, tmp_path / "paper", force=False)
    assert [path.name for path in files] == ["wing-sheet.html", "wing-sheet.txt", "wing-sheet.csv"]
    files[2].write_text("keyed into", encoding="utf-8")
    for path in files[:2]:
        path.unlink()
    with pytest.raises(WrongUseError, match="keyed into"):
        write_capture_sheet(Disk(), sheet, tmp_path / "paper", force=False)
    assert [path.name for path in (tmp_path / "paper").iterdir()] == ["wing-sheet.csv"]
    write_capture_sheet(Disk(), sheet, tmp_path / "paper", force=True)
    assert files[2].read_bytes() == format_capture_csv(sheet)
    with pytest.raises(NotSavedError, match="could not be written"):
        write_capture_sheet(Disk(), sheet, tmp_path / "no" / "where", force=False)


# --- what a value is judged by --------------------------------------------------------------------

GUARDED = DecisionRule(RuleKind.GUARDED, Decimal("0.5"))
FOUR = DecisionRule(RuleKind.FOUR_STATES)  # terms of ILAC-G8:09/2019 4.2
TICKS = "pass [ ]  cond. pass [ ]  cond. fail [ ]  fail [ ]"


def with_first(route: Route, **changes: object) -> Route:
    first = replace(route.points[0], **changes)  # type: ignore[arg-type]
    return replace(route, points=(first, *route.points[1:]))


def forms(route: Route) -> tuple[str, str]:
    """The page and the text, each with single spaces."""
    sheet = sheet_of(route, METER)
    return Page(format_capture_html(sheet)).text, " ".join(format_capture_text(sheet).split())


def test_a_decision_rule_stands_beside_its_limit(route: Route) -> None:
    limit = route.points[0].limit
    rework = replace(limit, rule=FOUR)
    plain = forms(route)
    ruled = forms(with_first(route, limit=replace(limit, rule=GUARDED), retest=rework))
    for before, form in zip(plain, ruled, strict=True):
        assert "guard band" not in before
        assert f"{limit.figures}, guard band 0.5 U; after rework {limit.figures}, four states" in form


def test_four_states_have_four_boxes(route: Route) -> None:
    limit = route.points[0].limit
    for changes in ({"limit": replace(limit, rule=FOUR)}, {"retest": replace(limit, rule=FOUR)}):
        changed = with_first(route, **changes)
        text = format_capture_text(sheet_of(changed, METER))
        assert text.count(TICKS) == 1
        assert text.count("pass [ ]  fail [ ]") == 5
        assert text.count("[__________________]") == 7
        assert max(map(len, text.splitlines())) <= WIDTH
        html = format_capture_html(sheet_of(changed, METER))
        assert html.count('<span class="tick">') == 4 + 5 * 2
        assert "pass cond. pass cond. fail fail" in Page(html).text
    guarded = with_first(route, limit=replace(limit, rule=GUARDED))
    assert "cond. pass" not in format_capture_text(sheet_of(guarded, METER))
    noted = with_first(route, limit=replace(RECORD_ONLY, rule=FOUR), retest=None)
    assert "cond. pass" not in format_capture_html(sheet_of(noted, METER))


def test_the_conductor_temperature_has_a_box_where_it_is_wanted(route: Route) -> None:
    for form in forms(route):
        assert "Ambient" in form
        assert "Conductor temperature" not in form
        assert "20 °C" not in form
    page, text = forms(with_first(route, correct_to_20=True))
    assert "Ambient °C Conductor temperature °C" in page
    assert "Ambient __________ °C Conductor temperature __________ °C" in text
    for form in (page, text):
        assert form.count("; judged at 20 °C") == 1
    html = format_capture_html(sheet_of(with_first(route, correct_to_20=True), METER))
    fill = html[html.index('<table class="fill four">') : html.index("</table>")]
    assert ".four td { width: 25%; }" in html  # at a third each there is no room for the fourth
    spans = [
        sum(int(span or 1) for span in re.findall(r'<td(?: colspan="([0-9])")?>', row))
        for row in fill.split("<tr>")[1:]
    ]
    assert spans == [4, 4, 4]  # no row has a gap


def test_a_unit_of_voltages_stays_on_one_line(route: Route) -> None:
    html = format_capture_html(sheet_of(route, METER))
    (unit,) = re.findall(r"\.unit \{([^}]*)\}", html)
    assert "white-space: nowrap" in unit


def test_a_number_check_that_was_not_made_is_told_to_be_taken_out(route: Route) -> None:
    found = parse_sheet(format_capture_csv(sheet_of(route, METER)), "sheet.csv").problems
    (check,) = {problem.remedy for problem in found if problem.what == "the last memory number is missing"}
    assert check == "write it in the column memory, or take the line out where no check was made"
