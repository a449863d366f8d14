"""A reading behind a break in the trail is nowhere in a report as plain as one before it."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path

import pytest

from fieldtui.core.survey.survey import fold
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.files.disk import Disk
from fieldtui.files.fleet.folders import why_no_results
from fieldtui.report.charts.along_route import route_charts
from fieldtui.report.charts.data import pairs_of
from fieldtui.report.charts.histogram import histogram
from fieldtui.report.charts.pairs import pair_charts
from fieldtui.report.charts.scale import Shape
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.findings.finding import Kind
from fieldtui.report.html import format_html
from fieldtui.report.identity import describe_counts, describe_trust
from fieldtui.report.point.story import Stories
from fieldtui.report.results_csv import format_results
from fieldtui.report.sections import count_sections, state_words
from fieldtui.report.tables.facts import front_findings, summary_words
from fieldtui.report.tables.points import point_tables, reading_tables
from fieldtui.report.tables.trail import trail_tables
from fieldtui.report.text_summary import format_summary
from fieldtui.report.unproven import Unproven
from fieldtui.ui.widgets.review.chart_pairs import draw_pairs
from fieldtui.ui.widgets.review.head import head_of
from tests.desk.session_maker import SessionMaker


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Rows: start, three readings, a note."""
    return SessionMaker(tmp_path).make("2025-05-04", SW_01="2.60", SW_02="1.40", SW_03="1.00")


def lines_of(folder: Path) -> list[bytes]:
    return (folder / "trail.csv").read_bytes().splitlines(keepends=True)


def with_trail(folder: Path, *lines: bytes) -> ReadSession:
    (folder / "trail.csv").write_bytes(b"".join(lines))
    return read_session(Disk(), folder)


def changed(folder: Path) -> ReadSession:
    """With another value in row 3, the second reading."""
    return with_trail(folder, *(line.replace(b",1.40,", b",1.10,") for line in lines_of(folder)))


def gap(folder: Path) -> ReadSession:
    """Without row 3."""
    lines = lines_of(folder)
    return with_trail(folder, *lines[:3], *lines[4:])


def doubt_cells(session: ReadSession) -> dict[str, str]:
    rows = csv.DictReader(io.StringIO(format_results(session).decode(), newline=""))
    return {row["point"]: row["in_doubt"] for row in rows}


def test_results_mark_what_does_not_rest_on_proven_rows(folder: Path) -> None:
    assert set(doubt_cells(read_session(Disk(), folder)).values()) == {""}
    assert doubt_cells(changed(folder)) == {"SW-01": "", "SW-02": "unproven", "SW-03": "unproven"}


def test_a_point_that_is_open_since_its_rows_could_not_be_read_is_marked_too(folder: Path) -> None:
    assert doubt_cells(gap(folder)) == {"SW-01": "", "SW-02": "unproven", "SW-03": "unproven"}


def test_results_that_say_so_are_in_no_trend_without_their_trail(folder: Path) -> None:
    path = folder / "results.csv"
    path.write_bytes(format_results(read_session(Disk(), folder)))
    assert why_no_results(Disk(), path) == ""
    path.write_bytes(format_results(changed(folder)))
    assert "unproven" in why_no_results(Disk(), path) and "2" in why_no_results(Disk(), path)


def test_the_tables_of_the_page_say_it_in_the_row(folder: Path) -> None:
    session = changed(folder)
    points = {row.cells[0][0]: row for table in point_tables(session) for row in table.rows}
    assert {point: row.cells[5] for point, row in points.items()} == {
        "SW-01": ("fail",),
        "SW-02": ("pass", "UNPROVEN"),
        "SW-03": ("pass", "UNPROVEN"),
    }
    assert points["SW-02"].is_loud
    readings = [row.cells[5] for table in reading_tables(session) for row in table.rows]
    assert readings == [("fail",), ("pass", "UNPROVEN"), ("pass", "UNPROVEN")]
    kinds = [row.cells[2] for table in trail_tables(session) for row in table.rows]
    assert ["UNPROVEN" in kind for kind in kinds] == [False, False, True, True, True]


def test_the_counts_say_how_many(folder: Path) -> None:
    counts = dict(describe_counts(changed(folder)))
    assert counts["passed"] == "2, 2 of them UNPROVEN"
    assert counts["failed"] == "1"
    assert counts["readings"] == "3, 0 of them void, 2 of them UNPROVEN"
    assert summary_words(changed(folder), []).endswith(" UNPROVEN: 2 points and 2 readings.")


def test_the_nearest_to_their_limits_and_the_story_of_a_point_say_it(folder: Path) -> None:
    session = changed(folder)
    summary = format_summary(session)
    assert "SW-02  1.10 mΩ, pass UNPROVEN against" in summary
    assert "SW-01  2.60 mΩ, fail against" in summary
    stories = Stories(session)
    assert "from row 3 on" in dict(stories.tell("SW-02").stands)["UNPROVEN"]
    assert "UNPROVEN" not in dict(stories.tell("SW-01").stands)


def test_rows_that_could_not_be_read_are_counted_with_their_readings(folder: Path) -> None:
    session = gap(folder)
    assert dict(describe_counts(session))["readings"] == "1, 0 of them void; 1 more reading NOT READ"
    first = find_exceptions(session)[0]
    assert (first.kind, first.where) == (Kind.TRAIL, "row 3")
    assert first.what == (
        "rows 3 to 4 are UNPROVEN; 2 points; 1 reading stands in 2 rows that could not be read"
    )


def test_after_a_doubled_row_every_reading_is_still_there(folder: Path) -> None:
    lines = lines_of(folder)
    session = with_trail(folder, *lines[:3], lines[2], *lines[3:])
    assert len(session.survey.records) == 3
    assert doubt_cells(session) == {"SW-01": "", "SW-02": "unproven", "SW-03": "unproven"}
    told = [finding.what for finding in find_exceptions(session) if finding.kind is Kind.TRAIL]
    assert told == ["rows 3 to 5 are UNPROVEN; 2 points and 2 readings", "Row 2 stands twice."]


def test_what_is_unproven_is_the_first_line_on_the_front_page(folder: Path) -> None:
    session = changed(folder)
    (first, *_) = front_findings(find_exceptions(session))
    assert first == "trail: rows 3 to 5 are UNPROVEN; 2 points and 2 readings"


@pytest.mark.parametrize(
    ("change", "chain", "has_seal"),
    [
        (lambda lines: lines, "intact", True),
        (lambda lines: [line.replace(b"\n", b"\r\n") for line in lines], "intact in every cell; ", True),
        (lambda lines: [line.replace(b",1.40,", b",1.10,") for line in lines], "BROKEN from row 3 on", False),
        (lambda lines: [*lines[:-1], lines[-1][:-20]], "intact up to row 4; the row after it is", False),
        (lambda lines: [b"hello\n"], "BROKEN from row 1 on", False),
    ],
)
def test_only_a_trail_that_is_all_there_and_proven_has_a_seal_to_copy(
    folder: Path, change: object, chain: str, has_seal: bool
) -> None:
    assert callable(change)
    session = with_trail(folder, *change(lines_of(folder)))
    told = dict(describe_trust(session))
    assert told["chain"].startswith(chain)
    assert ("seal" in told, "rows" in told) == (has_seal, has_seal)
    for text in (format_summary(session), format_html(session), head_of(session).plain):
        if session.seal:
            assert (session.seal in text) is has_seal


def test_another_session_file_makes_the_chain_prove_nothing(folder: Path) -> None:
    path = folder / "session.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("max = 2.5", "max = 2.7"), encoding="utf-8")
    session = read_session(Disk(), folder)
    assert dict(describe_trust(session)) == {
        "chain": "holds, but PROVES NOTHING from row 1 on, see the exceptions"
    }
    assert set(doubt_cells(session).values()) == {"unproven"}


def test_the_head_of_the_review_says_how_much_is_proven(folder: Path) -> None:
    assert "2 rows   of 5   UNPROVEN: 2 points and 2 readings" in head_of(changed(folder)).plain


def test_the_charts_draw_it_in_a_shape_of_its_own_and_say_so(folder: Path) -> None:
    session = changed(folder)
    unproven = Unproven.of(session)
    (chart,) = route_charts(session.survey, unproven)
    shapes = {mark.text.partition(":")[0]: mark.shape for mark in chart.marks}
    assert shapes == {"SW-01": Shape.FAILED, "SW-02": Shape.UNPROVEN, "SW-03": Shape.UNPROVEN}
    assert "SW-02: 1.10 mΩ, pass UNPROVEN" in [mark.text for mark in chart.marks]
    assert "UNPROVEN" in [entry.text for entry in chart.legend]
    assert "UNPROVEN: SW-02, SW-03." in chart.description
    bars = histogram(session.survey, unproven)
    assert bars is not None
    assert [bar.label for bar in bars.bars if bar.count] == ["1 !1", "1 !1", "1"]
    assert bars.marks_words == "! UNPROVEN"
    assert "1 UNPROVEN" in bars.description
    page = format_html(session)
    assert page.count('stroke-dasharray="2 1.5"') == 3  # two marks and the legend
    assert "! UNPROVEN" in page


def test_a_point_without_a_value_whose_row_could_not_be_read_is_not_drawn_as_merely_open(
    folder: Path,
) -> None:
    session = gap(folder)
    (chart,) = route_charts(session.survey, Unproven.of(session))
    marks = {mark.text: mark.shape for mark in chart.marks}
    assert marks["SW-02: open, no value UNPROVEN"] is Shape.UNPROVEN
    assert "SW-02  Jumper SW-02: open UNPROVEN" in format_summary(session)


def test_partners_say_it(folder: Path) -> None:
    """SW-01 against SW-02, of which the second is not proven."""
    session = changed(folder)
    points = [
        replace(point, pair={"SW-01": "SW-02"}.get(point.id, "")) for point in session.facts.route.points
    ]
    route = replace(session.facts.route, points=tuple(points))
    survey = fold(route, session.facts.instrument, session.events)
    (chart,) = pair_charts(survey, Unproven.of(session))
    assert chart.has_unproven
    (pair,) = chart.pairs
    assert [mark.shape for mark in pair.marks] == [Shape.FAILED, Shape.UNPROVEN]
    assert pair.values == ("2.60 mΩ", "1.10 mΩ UNPROVEN")
    lines = [line.plain for line in draw_pairs([*pairs_of(survey)], 0, 80, 10, (), {"SW-02"})]
    assert "! UNPROVEN" in lines[0]
    assert "!SW-02" in lines[1]


def test_sections_count_what_is_not_proven(folder: Path) -> None:
    assert "SW  Starboard wing: 2 of 3 settled; 2 passed, 1 failed; 2 of them" in format_summary(
        changed(folder)
    )
    (section,) = count_sections(changed(folder).survey, {"SW-02", "SW-03"})
    assert not section.is_complete
    assert state_words(section).endswith("2 of them UNPROVEN")
    (section,) = count_sections(read_session(Disk(), folder).survey)
    assert "UNPROVEN" not in state_words(section)
