"""``report.html`` as a parser, a screen reader and a printer see it."""

from __future__ import annotations

import csv
import io
import re
import time
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import timedelta
from decimal import Decimal
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import CriterionStatus, Limit, PathLimit, Point
from fieldtui.core.plan.tables import Criterion
from fieldtui.core.survey.survey import fold
from fieldtui.core.text import is_clean, neutral, visible
from fieldtui.core.trail import events as ev
from fieldtui.core.trail.chain import seal_groups
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.files.disk import Disk
from fieldtui.report.html import format_html
from fieldtui.report.results_csv import COLUMNS, format_results
from fieldtui.report.text_summary import format_summary
from fieldtui.report.writing import write_report
from tests.report.hostile import PAYLOADS, hostile_session
from tests.ui.review_fixtures import FRAME, METER, OWN, PLAIN_METER, POINTS, START, Story, mohm, route_of
from tests.ui.review_rich import session as rich_session

ROOT = Path(__file__).resolve().parents[2]
AIRFRAME = next((ROOT / "demo" / "sessions").glob("*airframe*"))
STYLE = ROOT / "fieldtui" / "report" / "page" / "style.css"
VOID = {"meta", "br"}


@dataclass
class Page(HTMLParser):
    """A document as its start tags, its balance and its text."""

    source: str
    tags: list[tuple[str, tuple[tuple[str, str | None], ...]]] = field(default_factory=list)
    texts: list[tuple[str, str]] = field(default_factory=list)  # the innermost element, and its text
    others: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.feed(self.source)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, tuple(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append((self.open[-1] if self.open else "", data))

    def handle_comment(self, data: str) -> None:
        self.others.append(data)

    def handle_decl(self, decl: str) -> None:
        self.others.append(decl)

    def handle_pi(self, data: str) -> None:
        self.others.append(data)

    def unknown_decl(self, data: str) -> None:
        self.others.append(data)

    @property
    def text(self) -> str:
        return "".join(text for tag, text in self.texts if tag != "style")

    def count(self, tag: str) -> int:
        return sum(name == tag for name, _ in self.tags)

    def attributes(self, tag: str) -> list[dict[str, str | None]]:
        return [dict(attrs) for name, attrs in self.tags if name == tag]


def page_of(story: Story, criteria: dict[str, Criterion] | None = None) -> Page:
    return Page(format_html(with_criteria(story.session(), criteria or {})))


def with_criteria(session: ReadSession, criteria: Mapping[str, Criterion]) -> ReadSession:
    """The session, had its route named these."""
    return replace(session, facts=replace(session.facts, criteria=criteria))


def flat(text: str) -> str:
    return " ".join(text.split())


def bare(text: str) -> str:
    return "".join(text.split())


@pytest.fixture(scope="module")
def airframe() -> Page:
    session = read_session(Disk(), AIRFRAME)
    return Page(format_html(session))


# --- nothing in a session becomes part of the page ---------------------------------------------


@pytest.fixture(scope="module")
def plain_page() -> Page:
    session, criteria, _ = hostile_session("")
    return Page(format_html(with_criteria(session, criteria)))


@pytest.mark.parametrize("payload", PAYLOADS, ids=range(len(PAYLOADS)))
def test_no_text_adds_an_element_or_changes_an_attribute(payload: str, plain_page: Page) -> None:
    session, criteria, _ = hostile_session(payload)
    page = Page(format_html(with_criteria(session, criteria)))
    assert page.tags == plain_page.tags
    assert page.others == ["DOCTYPE html"]


@pytest.mark.parametrize("payload", PAYLOADS, ids=range(len(PAYLOADS)))
def test_every_text_is_on_the_page_whole_and_visible(payload: str) -> None:
    session, criteria, hostile = hostile_session(payload)
    page = Page(format_html(with_criteria(session, criteria)))
    assert [text for text in hostile.shown if visible(text) not in page.text] == []
    assert all(is_clean(line) for line in page.source.split("\n"))


@pytest.mark.parametrize("payload", PAYLOADS, ids=range(len(PAYLOADS)))
def test_the_style_sheet_takes_no_text_but_as_codes(payload: str, plain_page: Page) -> None:
    session, criteria, _ = hostile_session(payload)
    styles = [
        text for tag, text in Page(format_html(with_criteria(session, criteria))).texts if tag == "style"
    ]
    before = [text for tag, text in plain_page.texts if tag == "style"]
    assert len(styles) == 1
    # Between the quotation marks stand letters, digits, blanks and backslashes, and nothing else changes.
    quoted = re.compile(r'(?<=@top-left \{ content: )"[A-Za-z0-9\\ ]*"')
    assert quoted.sub("", styles[0]) == quoted.sub("", before[0])
    assert quoted.search(styles[0])


@pytest.mark.parametrize("payload", PAYLOADS, ids=range(len(PAYLOADS)))
def test_the_results_table_keeps_its_cells_and_runs_no_formula(payload: str) -> None:
    session, _, _ = hostile_session(payload)
    rows = list(csv.reader(io.StringIO(format_results(session).decode(), newline="")))
    assert [len(row) for row in rows] == [len(COLUMNS)] * 4
    for row, point_id in zip(rows[1:], session.survey.order.ids, strict=True):
        point = session.survey.points[point_id]
        cells = dict(zip(COLUMNS, row, strict=True))
        for column in ("title", "where", "a", "b"):
            assert cells[column] == neutral(visible(getattr(point, column)))
        assert all(is_clean(cell) and cell[:1] not in ("=", "+", "-", "@") for cell in row)


@pytest.mark.parametrize("payload", PAYLOADS, ids=range(len(PAYLOADS)))
def test_the_summary_keeps_every_text_it_takes(payload: str) -> None:
    session, _, _ = hostile_session(payload)
    facts = session.facts
    # Names of the brief's items are left to the test below.
    session = replace(session, survey=replace(session.survey, brief={}))
    text = format_summary(session)
    assert all(is_clean(line) for line in text.split("\n"))
    for taken in (facts.id, facts.job, facts.crew.prober, facts.route.title, facts.instrument.serial):
        assert bare(visible(taken)) in bare(text)


def test_the_summary_shows_the_names_of_the_briefs_items_as_codes() -> None:
    session, _, _ = hostile_session("\x1b[2J")
    assert all(is_clean(line) for line in format_summary(session).split("\n"))


# --- what a reader without eyes, styles or network gets -----------------------------------------


def test_the_page_asks_for_nothing_and_runs_nothing(airframe: Page) -> None:
    policy = [
        meta["content"]
        for meta in airframe.attributes("meta")
        if meta.get("http-equiv") == "Content-Security-Policy"
    ]
    assert policy == ["default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"]
    names = {name for name, _ in airframe.tags}
    assert names.isdisjoint({"script", "link", "img", "iframe", "object", "image", "use", "form", "input"})
    for _, attrs in airframe.tags:
        for name, value in attrs:
            assert not name.startswith("on") and name not in ("src", "srcset", "style")
            assert name != "href" or (value or "").startswith("#")
    style = next(text for tag, text in airframe.texts if tag == "style")
    assert "url(" not in style and "@import" not in style


def test_headings_follow_one_another_without_a_gap(airframe: Page) -> None:
    levels = [int(name[1]) for name, _ in airframe.tags if re.fullmatch(r"h[1-6]", name)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_table_says_what_it_is_and_what_its_cells_belong_to(airframe: Page) -> None:
    assert airframe.count("caption") == airframe.count("table") > 10
    scopes = Counter(each.get("scope") for each in airframe.attributes("th"))
    assert set(scopes) == {"col", "row"}
    rows = airframe.count("tr") - airframe.count("thead")
    assert scopes["row"] == rows
    captions = [text for tag, text in airframe.texts if tag == "caption"]
    assert len(set(captions)) == len(captions)


def test_every_chart_has_a_title_and_says_in_words_what_it_shows(airframe: Page) -> None:
    ids = {attrs["id"] for _, pairs in airframe.tags if "id" in (attrs := dict(pairs))}
    charts = airframe.attributes("svg")
    assert len(charts) == 3
    for chart in charts:
        assert chart["role"] == "img"
        assert set((chart["aria-labelledby"] or "").split()) <= ids
    described = [text for tag, text in airframe.texts if tag == "desc"]
    assert "TL-04 reads 3.18 mΩ against <= 3.0 mΩ" in described[0]
    assert "100 to 110 %: 1 point, 1 failed" in described[1]
    assert "SW-02 18.4 mΩ, PW-02 2.21 mΩ, ratio 0.12" in described[2]


def test_ids_are_unique_and_links_lead_somewhere(airframe: Page) -> None:
    ids = [attrs["id"] for _, pairs in airframe.tags if "id" in (attrs := dict(pairs))]
    assert len(set(ids)) == len(ids)
    links = [(each["href"] or "")[1:] for each in airframe.attributes("a")]
    assert len(links) == 10 and set(links) <= set(ids)
    assert airframe.attributes("html") == [{"lang": "en"}]


def luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb``. Source: WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_text_stands_out_seven_to_one(airframe: Page) -> None:
    # Source: WCAG 2.2, 1.4.6 Contrast (Enhanced).
    style = next(text for tag, text in airframe.texts if tag == "style")
    colours = set(re.findall(r"(?<![-\w])color: (#\w{6})", style))
    colours |= {each["fill"] or "" for each in airframe.attributes("text")}
    assert len(colours) >= 3
    assert set(re.findall(r"background: (#\w+)", style)) == {"#ffffff"}
    assert luminance("#ffffff") == pytest.approx(1) and luminance("#000000") == 0
    for colour in colours:
        assert 1.05 / (luminance(colour) + 0.05) >= 7, colour


def test_print_repeats_headers_and_breaks_between_rows() -> None:
    style = STYLE.read_text(encoding="utf-8")
    printed = style[style.index("@media print") :]
    assert "thead { display: table-header-group; }" in printed
    assert re.search(r"\btr,[^{]*\{ break-inside: avoid; \}", printed)


# --- what the page says ---------------------------------------------------------------------------


def test_the_front_page_identifies_the_survey_and_can_be_signed(airframe: Page) -> None:
    session = read_session(Disk(), AIRFRAME)
    text = flat(airframe.text)
    front = text[: text.index("Exceptions: 22")]
    for words in (
        session.facts.id, "Ilse Brannow", "Tam Orrick", "Bond meter of the airframe crew, serial 0040",
        "due 2099-12-31", "56 of 58 settled", session.seal, "after 102 rows; chain intact",
        "Technician", "Inspector", "it claims no compliance with any regulation",
        "FAA AC 43.13-1B11-188f",  # source and clause, a line each
        "brief: not answered: cautions read",
    ):  # fmt: skip
        assert words in front, words
    assert front.index("Attention") < front.index("The survey") < front.index("To be signed")


def test_exceptions_come_before_every_table_of_values(airframe: Page) -> None:
    headings = [text for tag, text in airframe.texts if tag == "h2"]
    assert headings == [
        "Attention", "The survey", "Seal", "Criteria", "Exceptions: 22", "Charts", "Points", "Readings",
        "Uncertainty", "Trail", "Cautions",
    ]  # fmt: skip


def test_every_point_reading_and_row_has_its_line(airframe: Page) -> None:
    session = read_session(Disk(), AIRFRAME)
    heads = [
        text
        for (name, attrs), text in zip(_headed(airframe), _heads(airframe), strict=True)
        if name == "th" and dict(attrs).get("scope") == "row"
    ]
    named = Counter(heads)
    assert all(named[point] == 1 for point in session.survey.points)
    records, rows = len(session.survey.records), len(session.events)
    assert all(named[str(n)] == (n <= records) + (n <= rows) for n in range(1, max(records, rows) + 1))


def _headed(page: Page) -> list[tuple[str, tuple[tuple[str, str | None], ...]]]:
    return [each for each in page.tags if each[0] == "th"]


def _heads(page: Page) -> list[str]:
    return [text for tag, text in page.texts if tag == "th"]


def test_a_void_a_correction_and_a_retest_are_told_in_words() -> None:
    story = Story().tell(ev.RunStarted, run=1, number=1).read("SW-01", "9.9").read("SW-02", "1.0")
    story.tell(ev.Voided, ref=1, point="SW-01", reason="wrong stud")
    story.tell(ev.Amended, ref=2, reason="misheard", reading=mohm("1.1"), verdict=Verdict.PASS)
    story.tell(ev.Reworked, point="SW-01", reason="new strap", ref="D-7").read("SW-01", "1.0")
    text = flat(page_of(story).text)
    assert "VOID" in text and "void: wrong stud" in text
    assert "was 1.0 mΩchanged in row 6" in text
    assert "retest" in text


def test_an_override_and_a_broken_chain_stand_on_the_front_page() -> None:
    story = Story().brief(calibration="loan meter").read("SW-01", "1.0")
    session = replace(story.session(), is_intact=False, rows=2, unproven_from=3)
    text = flat(Page(format_html(session)).text)
    front = text[: text.index("Exceptions:")]
    assert "override: calibration: calibration lapsed on 2026-01-31; reason: loan meter" in front
    assert "chain BROKEN from row 3 on, see the exceptions. There is no seal to copy" in front


def test_more_exceptions_than_fit_on_the_front_page_are_counted() -> None:
    story = Story()
    for number in range(50, 60):
        story.tell(ev.Voided, ref=number, point="SW-01", reason="?")
    text = flat(page_of(story).text)
    assert "and 4 more, see the exceptions" in text  # ten contradictions, the brief, not closed; eight shown


def test_a_limit_from_memory_is_marked_where_it_judges() -> None:
    page = page_of(Story().read("HU-01", "9.0"))
    assert "UNVERIFIED: from memory" in page.text  # among the criteria
    assert "≤ 10 mΩenclosureUNVERIFIED" in page.text  # at the point


def test_criteria_carry_title_source_and_clause() -> None:
    criteria = {FRAME.criterion: Criterion(FRAME.criterion, "Equipment frame", FRAME, "11-188f")}
    text = page_of(Story(), criteria).text
    assert "Equipment frameequipment-frameFAA AC 43.13-1B11-188f" in flat(text)
    assert "< 2.5 mΩ" in text and "≤ 3.0 mΩ" in text


def test_a_path_is_told_with_its_sum_and_an_open_one_with_what_is_missing() -> None:
    paths = (
        PathLimit("EARTH", "Plane to earth", ("SW-01", "SW-02"), Limit(maximum=mohm("3"))),
        PathLimit("HULL", "Hull to earth", ("SW-01", "HU-01"), Limit(maximum=mohm("9"))),
    )
    text = page_of(Story(route_of(paths=paths)).read("SW-01", "1.25").read("SW-02", "2.5")).text
    assert "EARTHPlane to earthSW-01 + SW-02≤ 3 mΩ3.75 mΩfail" in text  # 1.25 + 2.5
    assert "HULLHull to earthSW-01 + HU-01≤ 9 mΩno value: HU-01open" in text


def test_practice_is_said_first() -> None:
    session = Story().session()
    text = flat(Page(format_html(replace(session, facts=replace(session.facts, practice=True)))).text)
    assert text.index("practice: an invented survey") < text.index("The survey")


def test_without_a_stated_accuracy_no_uncertainty_is_made_up() -> None:
    page = page_of(Story().read("SW-01", "1.0"))
    assert "no uncertainty can be given" in page.text
    assert "Budget of" not in page.text


def accurate(limit: Limit = OWN) -> Story:
    """A meter of 1 % of the reading plus 0.01 mΩ at k = 2, and a value of 2.00 mΩ against 3."""
    meter = replace(METER, accuracy=Accuracy(Decimal(1), mohm("0.01")))
    return Story(route_of(Point("A", "SW", "Strap", Unit.MOHM, limit)), meter).read("A", "2.00")


def test_the_budget_is_the_one_worked_out_by_hand() -> None:
    text = flat(page_of(accurate()).text)
    # Stated: (0.02 + 0.01) / 2 = 0.015; step 0.01: 0.005 / sqrt 3 = 0.0029; together 0.0153, times 2: 0.031.
    assert "1 % of the reading plus 0.01 mΩ, coverage factor k = 2" in text
    assert "Budget of A: 2.00 mΩ, the value nearest to its limit" in text
    assert "stated accuracy0.015 mΩnormal10.015 mΩ" in text
    assert "display step0.0050 mΩrectangular10.0029 mΩ" in text
    assert "combined0.015 mΩ" in text and "expanded, k = 20.031 mΩ" in text
    assert "U 0.031 mΩ" in text
    assert "The scatter of repeated readings is not in U" in text


def test_the_budget_is_that_of_the_value_nearest_to_its_limit() -> None:
    points = [Point(name, "SW", name, Unit.MOHM, OWN) for name in "ABCD"]
    meter = replace(METER, accuracy=Accuracy(Decimal(1), mohm("0.01")))
    story = Story(route_of(*points), meter)
    for name, value in zip("ABC", ("1.00", "3.10", "2.50"), strict=True):  # against 3; D is not read
        story.read(name, value)
    assert "Budget of B: 3.10 mΩ" in page_of(story).text


def test_a_guard_band_without_an_accuracy_is_said_to_be_none() -> None:
    guarded = replace(OWN, rule=DecisionRule(RuleKind.GUARDED, Decimal(1)))
    words = "the meter states no accuracy: judged by simple acceptance"
    assert words not in page_of(accurate(guarded)).text
    story = Story(route_of(Point("A", "SW", "Strap", Unit.MOHM, guarded)), PLAIN_METER)
    assert words in page_of(story).text


def test_a_survey_without_a_reading_is_a_page_all_the_same() -> None:
    text = flat(page_of(Story()).text)
    assert "No reading was taken." in text
    assert "0 of 4 points settled, 0 readings" in text


def test_the_same_session_gives_the_same_bytes() -> None:
    assert format_html(Story().clean().session()) == format_html(Story().clean().session())


# --- the files -------------------------------------------------------------------------------------


def test_only_the_reports_own_files_are_written(tmp_path: Path) -> None:
    folder = tmp_path / AIRFRAME.name
    folder.mkdir()
    for name in ("session.toml", "trail.csv"):
        (folder / name).write_bytes((AIRFRAME / name).read_bytes())
        (folder / name).chmod(0o440)

    def state() -> dict[str, tuple[bytes, int, int, int, int]]:
        found = {}
        for path in (folder / "session.toml", folder / "trail.csv"):
            status = path.stat()
            found[path.name] = (
                path.read_bytes(), status.st_mode, status.st_mtime_ns, status.st_ctime_ns, status.st_ino,
            )  # fmt: skip
        return found

    before = state()
    written = write_report(Disk(), read_session(Disk(), folder), folder)
    assert state() == before
    assert {path.name for path in written.files} == {"results.csv", "summary.txt", "report.html"}
    assert {path.name for path in folder.iterdir()} == {*before, "results.csv", "summary.txt", "report.html"}
    page = Page((folder / "report.html").read_text(encoding="utf-8"))
    assert "Equipment frame to structure" in page.text  # the criterion's title, from the session's snapshot


def test_elsewhere_means_that_nothing_is_made_in_the_sessions_folder(tmp_path: Path) -> None:
    before = sorted(path.name for path in AIRFRAME.iterdir())
    write_report(Disk(), read_session(Disk(), AIRFRAME), tmp_path / "out")
    assert sorted(path.name for path in AIRFRAME.iterdir()) == before
    assert (tmp_path / "out" / "report.html").is_file()


# --- size ------------------------------------------------------------------------------------------


def test_ten_thousand_points_are_all_there_within_seconds() -> None:
    count = 10_000
    points = tuple(
        Point(f"P{n:05}", f"S{n // 100}", f"Strap {n}", Unit.MOHM, OWN, where="zone", a="strap", b="spar")
        for n in range(count)
    )
    story = Story(route_of(*points), PLAIN_METER)
    story.events += [
        ev.ReadingTaken(
            time=START + timedelta(seconds=20 * n), by="Ana", record=n + 1, point=point.id,
            reading=mohm(f"{1 + n % 30 / 10:.1f}"), verdict=Verdict.PASS if n % 30 <= 20 else Verdict.FAIL,
        )
        for n, point in enumerate(points)
    ]  # fmt: skip
    session = replace(
        Story(route_of(POINTS[0])).session(),
        survey=fold(story.route, PLAIN_METER, story.events),
        events=tuple(story.events),
        rows=len(story.events),
        seal=seal_groups("0" * 32),
    )
    session = replace(session, facts=replace(session.facts, route=story.route, instrument=PLAIN_METER))
    begun = time.process_time()
    source = format_html(session)
    taken = time.process_time() - begun
    rows = source.count('<th scope="row" class="')
    assert source.count("<g><title>P") == count  # one mark a point
    assert rows == count + count + (count + 1) + 1  # points, readings, trail, one limit
    assert taken < 20, f"{taken:.1f} s"  # some 4 s on an idle core of 2024; a loaded machine may take longer


def test_marks_of_status_cover_every_status() -> None:
    for status in CriterionStatus:
        limit = replace(OWN, status=status)
        text = page_of(Story(route_of(Point("A", "SW", "Strap", Unit.MOHM, limit)))).text
        assert status.value in text.lower() or status is CriterionStatus.OWN


def test_points_and_paths_say_which_value_was_judged_and_how_likely_it_conforms() -> None:
    source = " ".join(format_html(rich_session()).split())
    for words in ("at 20 °C 1.8763 mΩ", "conforms with above 99.9 %", "conforms with 87.2 %"):
        assert words in source
    paths = source[source.index("<caption>Paths") :]
    assert "4.3563 mΩ" in paths
    assert paths.index("4.3563") < paths.index("U 0.064 mΩ") < paths.index("conforms with below 0.1 %")
