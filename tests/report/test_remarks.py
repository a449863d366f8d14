"""Remarks in the reports: there when there are any, escaped, the record's change since told."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fieldtui.core.remarks import Place
from fieldtui.desk.reading import read_session
from fieldtui.desk.remarks import NO_REMARKS, RemarkDesk, Remarks
from fieldtui.errors import Problem
from fieldtui.files.disk import Disk
from fieldtui.report.findings.finding import Finding, Kind, place, place_of
from fieldtui.report.html import format_html
from fieldtui.report.text_summary import WIDTH, format_summary
from tests.report.test_html import Page
from tests.ui.test_start import StandingClock, take, workspace_in


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return take(workspace_in(tmp_path, wing="Wing bonds"), "wing", "1.38", "2.61")


def remarked(folder: Path) -> tuple[Any, Remarks]:
    desk = RemarkDesk(Disk(), read_session(Disk(), folder), StandingClock())
    desk.add("Ivo <b>", "strap & 'clip' <script>x</script> {{ 7 }}", Place(point="SW-02", record=2))
    desk.add("Ana", "fine by me")
    desk.withdraw(desk.read().entries[1], "Ana", "looked at the wrong page")
    trail = folder / "trail.csv"
    trail.write_bytes(b"".join(trail.read_bytes().splitlines(keepends=True)[:-1]))
    session = read_session(Disk(), folder)
    return session, RemarkDesk(Disk(), session, StandingClock()).read()


def test_without_remarks_no_report_speaks_of_them(folder: Path) -> None:
    session = read_session(Disk(), folder)
    assert "emarks of reviewers" not in format_summary(session, NO_REMARKS)
    assert 'id="remarks"' not in format_html(session, NO_REMARKS)


def test_the_summary_has_each_remark_what_became_of_it_and_of_the_record(folder: Path) -> None:
    text = format_summary(*remarked(folder))
    assert all(len(line) <= WIDTH for line in text.splitlines())
    plain = " ".join(text.split())
    assert "Remarks of reviewers: 2, 1 of them withdrawn" in plain
    assert "- Ivo <b>, 2026-05-04 08:30 UTC [point SW-02, record 2]" in plain
    assert "- WITHDRAWN Ana, 2026-05-04 08:30 UTC [the whole session] fine by me" in plain
    assert "note: withdrawn 2026-05-04 08:30 UTC: looked at the wrong page" in plain
    assert "note: the record is NOT the one remarked on" in plain


def test_the_page_has_them_as_text_and_leads_to_them(folder: Path) -> None:
    page = Page(format_html(*remarked(folder)))
    text = " ".join("".join(each for _, each in page.texts).split())
    assert "Ivo <b>, 2026-05-04 08:30 UTC [point SW-02, record 2]" in text
    assert "strap & 'clip' <script>x</script> {{ 7 }}" in text
    assert "WITHDRAWN Ana" in text
    assert ("a", (("href", "#remarks"),)) in page.tags
    assert not [tag for tag, _ in page.tags if tag in ("script", "b")]


def test_a_file_that_could_not_be_read_is_told(folder: Path) -> None:
    session = read_session(Disk(), folder)
    remarks = Remarks((), (Problem("nonsense", file="review-\x1bbad.toml", line=3),))
    assert "NOT READ: review-\\u{1b}bad.toml:3: nonsense" in format_summary(session, remarks)
    assert "review-\\u{1b}bad.toml:3: nonsense" in format_html(session, remarks)


@pytest.mark.parametrize("point", ["", "SW-07", "A.b_1"])
@pytest.mark.parametrize("record", [None, 12])
@pytest.mark.parametrize("row", [None, 31])
def test_the_place_of_a_finding_is_found_again(point: str, record: int | None, row: int | None) -> None:
    finding = Finding(Kind.FAILED, "x", where=place(point=point, record=record, row=row))
    assert place_of(finding) == Place(point=point, record=record, row=row)


@pytest.mark.parametrize("where", ["brief", "rows 3 to 4", "points SW-01, SW-02 and 3 more", "end of x"])
def test_what_is_no_single_place_is_the_whole_session(where: str) -> None:
    assert place_of(Finding(Kind.GAP, "x", where=where)) == Place()
