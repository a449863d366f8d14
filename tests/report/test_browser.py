"""``report.html`` in a real browser: what it makes of the page, what it prints, what it refuses to run."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.files.disk import Disk
from fieldtui.report.html import format_html
from tests.report.hostile import PAYLOADS, hostile_session
from tests.report.test_html import AIRFRAME, Page, with_criteria

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
# Width and height of a sheet in points of 1/72 inch: ISO 216, and ANSI/ASME Y14.1 size A.
SHEETS = {"A4": (595, 842), "letter": (612, 792)}

pytestmark = pytest.mark.skipif(BROWSER is None, reason="Chromium is not installed on this machine")


def browse(page: Path, folder: Path, *arguments: str) -> str:
    """Open a page in a browser that knows nothing yet; returns what it prints."""
    assert BROWSER is not None
    done = subprocess.run(
        [BROWSER, *QUIET, f"--user-data-dir={folder / 'profile'}", *arguments, page.as_uri()],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=True,
    )
    return done.stdout


def title_of(source: str) -> str:
    """The document's title; charts further down have titles too."""
    return next(text for tag, text in Page(source).texts if tag == "title")


@pytest.fixture(scope="module")
def session() -> ReadSession:
    return read_session(Disk(), AIRFRAME)


@pytest.fixture(scope="module")
def source(session: ReadSession) -> str:
    return format_html(session)


def test_the_browser_finds_every_point_and_the_page_as_it_was_written(
    session: ReadSession, source: str, tmp_path: Path
) -> None:
    page = tmp_path / "report.html"
    page.write_text(source, encoding="utf-8")
    seen = browse(page, tmp_path, "--dump-dom")
    for point in session.survey.points.values():
        assert f'<th scope="row" class="name">{point.id}</th>' in seen
        assert point.title in seen
    # A browser that had to mend the page would have another count of elements.
    written = Page(source).tags
    assert [name for name, _ in Page(seen).tags] == [name for name, _ in written]


@pytest.mark.parametrize("sheet", SHEETS)
def test_it_prints(sheet: str, source: str, tmp_path: Path) -> None:
    page, printed = tmp_path / "report.html", tmp_path / "report.pdf"
    page.write_text(source.replace("<style>", f"<style>@page {{ size: {sheet} }}"), encoding="utf-8")
    browse(page, tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={printed}")
    pdf = printed.read_bytes()
    assert pdf.startswith(b"%PDF-")
    pages = len(re.findall(rb"/Type\s*/Page\b", pdf))
    # 58 points, 63 readings and 94 rows of a table: no sheet takes more than some 60 lines of it.
    assert 8 <= pages <= 20
    boxes = {tuple(map(float, box.split())) for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", pdf)}
    ((left, top, width, height),) = boxes
    assert (left, top, round(width), round(height)) == (0, 0, *SHEETS[sheet])


def test_the_pages_own_policy_lets_no_script_run(source: str, tmp_path: Path) -> None:
    script = "<script>document.title = 'ran'</script>"
    allowed, refused = tmp_path / "allowed.html", tmp_path / "refused.html"
    refused.write_text(source.replace("</body>", f"{script}</body>"), encoding="utf-8")
    # The same page without its policy shows that the script would have run.
    without = re.sub(r"<meta http-equiv=[^>]*>", "", source)
    allowed.write_text(without.replace("</body>", f"{script}</body>"), encoding="utf-8")
    assert title_of(browse(allowed, tmp_path, "--dump-dom")) == "ran"
    assert title_of(browse(refused, tmp_path, "--dump-dom")) == title_of(source)


def test_hostile_texts_stay_texts_in_a_browser(tmp_path: Path) -> None:
    page = tmp_path / "report.html"
    plain_session, criteria, _ = hostile_session("")
    plain = [name for name, _ in Page(format_html(with_criteria(plain_session, criteria))).tags]
    session, criteria, _ = hostile_session("".join(PAYLOADS))
    page.write_text(format_html(with_criteria(session, criteria)), encoding="utf-8")
    seen = browse(page, tmp_path, "--dump-dom")
    assert [name for name, _ in Page(seen).tags] == plain
    assert title_of(seen) != "ran"
