"""Write the report's files beside a session, or wherever the reviewer wants them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fieldtui.desk.reading import ReadSession
from fieldtui.desk.remarks import NO_REMARKS, Remarks
from fieldtui.files.disk import Disk
from fieldtui.files.whole import write_whole_files
from fieldtui.report.html import format_html
from fieldtui.report.results_csv import format_results
from fieldtui.report.text_summary import format_summary

RESULTS = "results.csv"
SUMMARY = "summary.txt"
PAGE = "report.html"


@dataclass(frozen=True, slots=True)
class Written:
    """The files written and the summary's text."""

    files: tuple[Path, ...]
    summary: str


def write_report(disk: Disk, session: ReadSession, folder: Path, remarks: Remarks = NO_REMARKS) -> Written:
    """Write ``results.csv``, ``summary.txt`` and ``report.html`` into ``folder``, each whole or not at all.

    The session's own files are never touched.

    Raises:
        NotSavedError: the folder cannot be written to.
    """
    summary = format_summary(session, remarks)
    page = format_html(session, remarks)
    files = {RESULTS: format_results(session), SUMMARY: summary.encode(), PAGE: page.encode()}
    return Written(write_whole_files(disk, folder, files, "The report"), summary)
