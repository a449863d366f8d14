"""A session keyed from paper claims nothing that only the paper knows, and keeps what was doubtful in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.core.trail import events as ev
from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.desk.transcribed import NO_TIMES, doubts_noted
from fieldtui.desk.transcription import paper_brief, transcribe_sheet
from fieldtui.files.disk import Disk
from fieldtui.files.sheet import COLUMNS
from fieldtui.report.findings.all import Finding, Kind, find_exceptions
from fieldtui.report.identity import describe_identity
from fieldtui.report.point.story import Stories
from fieldtui.report.text_summary import format_summary
from tests.desk.scenes import ROUTE, Scene
from tests.ui.review_fixtures import Story, route_of

CAUTIONS = """\
format = 1
[[cautions]]
id = "static"
title = "Static first"
text = "Discharge static first."
"""
TIMED = "note,,,,,,,begin,2026-05-04T08:00:00Z"


class Paper:
    """Sheets of one route whose first point has a finish to restore and an expected band."""

    def __init__(self, root: Path) -> None:
        self.scene = Scene(root)
        route = ROUTE.replace(
            'title = "Flap jumper"',
            'title = "Flap jumper"\nrestore = "seal it"\nexpected = { low = 0.8, high = 1.6 }',
        )
        (root / "routes" / "wing.toml").write_text(route, encoding="utf-8")
        (root / "shared").mkdir(exist_ok=True)
        (root / "shared" / "cautions.toml").write_text(CAUTIONS, encoding="utf-8")

    def key(self, *lines: str) -> Path:
        workspace = self.scene.workspace
        route = workspace.load_route("wing")
        brief = paper_brief(workspace.tables(), route.route)
        data = "\n".join([",".join(COLUMNS), *lines, ""]).encode()
        return transcribe_sheet(workspace, route, data, "sheet.csv", brief, self.scene.clock).folder

    def read(self, *lines: str) -> ReadSession:
        return read_session(Disk(), self.key(*lines))


@pytest.fixture
def paper(tmp_path: Path) -> Paper:
    return Paper(tmp_path)


def looked_at(session: ReadSession) -> list[Finding]:
    return [each for each in find_exceptions(session) if each.kind is Kind.LOOK_AT]


# --- doubts ----------------------------------------------------------------------------------------


def test_a_doubtful_value_stays_visible_in_trail_and_report(paper: Paper) -> None:
    session = paper.read(TIMED, "reading,SW-01,1,13.8,mohm", "reading,SW-02,2,1.1,mohm")
    ((row, doubt),) = doubts_noted(session.events)
    note = session.events[row - 1]
    assert isinstance(note, ev.Noted)
    assert (note.point, doubt.record) == ("SW-01", 1)
    assert "decimal moved? 1.38 mΩ fits" in doubt.why
    (finding,) = looked_at(session)
    assert finding.what == doubt.why
    assert finding.where == "point SW-01, record 1, row 4"
    assert "paper of sheet.csv" in finding.remedy
    assert finding.what in " ".join(format_summary(session).split())


def test_a_doubtful_value_confirmed_on_the_sheet_is_told_with_its_reason(paper: Paper) -> None:
    session = paper.read(TIMED, "reading,SW-01,1,13.8,mohm,,read twice")
    assert len(list(doubts_noted(session.events))) == 1
    assert looked_at(session) == []
    (confirmed,) = [each for each in find_exceptions(session) if each.kind is Kind.CONFIRMED]
    assert confirmed.reason == "read twice"


def test_once_it_is_corrected_or_struck_out_it_need_not_be_looked_at(paper: Paper) -> None:
    lines = (TIMED, "reading,SW-01,1,13.8,mohm", "reading,SW-02,2,0.00,mohm")
    folder = paper.key(*lines)
    assert len(looked_at(read_session(Disk(), folder))) == 2
    with resume_session(paper.scene.workspace, folder, paper.scene.clock) as desk:
        desk.void(2, "not in contact")
        desk.amend_value(1, "1.38", "paper says 1.38")
    assert looked_at(read_session(Disk(), folder)) == []


def test_a_doubtful_memory_number_is_settled_by_the_meters_list(paper: Paper) -> None:
    folder = paper.key(TIMED, "reading,SW-01,1,1.1,mohm,1", "reading,SW-02,2,1.2,mohm,3")
    assert [each.what for each in looked_at(read_session(Disk(), folder))] == ["memory number 3, 2 expected"]
    with resume_session(paper.scene.workspace, folder, paper.scene.clock) as desk:
        desk.reconciled(1, "list.csv", "all the same")
    assert looked_at(read_session(Disk(), folder)) == []


def test_a_crews_remark_in_these_words_is_none_of_a_session_that_was_not_keyed_from_paper() -> None:
    story = Story().read("SW-01", "1.0").tell(ev.Noted, point="SW-01", note="look at record 1: rusty")
    assert looked_at(story.session()) == []


def test_a_crews_remark_does_not_make_the_times_those_of_a_keying() -> None:
    session = Story().read("SW-01", "1.0").tell(ev.Noted, point="SW-01", note=NO_TIMES).session()
    assert "of the keying" not in dict(describe_identity(session))["started"]
    assert [each for each in find_exceptions(session) if each.kind is Kind.CLOCK] == []


def test_a_remark_about_a_record_that_is_none_harms_nothing(paper: Paper) -> None:
    session = paper.read(TIMED, "reading,SW-01,1,1.1,mohm", "note,SW-01,,,,,,look at record 9: what")
    assert looked_at(session) == []


# --- what only the paper knows ------------------------------------------------------------------


def test_a_sheet_without_times_says_whose_the_times_are(paper: Paper) -> None:
    session = paper.read("reading,SW-01,1,1.1,mohm", "reading,SW-02,2,1.2,mohm")
    assert NO_TIMES in [event.note for event in session.events]
    assert "of the keying: the sheet has no times" in dict(describe_identity(session))["started"]
    assert NO_TIMES in [each.what for each in find_exceptions(session) if each.kind is Kind.CLOCK]
    timed = paper.read("reading,SW-01,1,1.1,mohm,,,,2026-05-04T08:00:00Z")
    assert dict(describe_identity(timed))["started"] == "2026-05-04 08:00 UTC"
    assert [each for each in find_exceptions(timed) if each.kind is Kind.CLOCK] == []


def test_a_sheet_with_some_times_and_one_of_tomorrow_say_so(paper: Paper) -> None:
    session = paper.read(
        TIMED, "reading,SW-01,1,1.1,mohm", "reading,SW-02,2,1.2,mohm,,,,2036-05-04T08:00:00Z"
    )
    told = [each.what for each in find_exceptions(session) if each.kind is Kind.CLOCK]
    assert told[0].startswith("times: 1 of 2 readings have none on the sheet")
    assert told[1].startswith(
        "times: 2036-05-04T08:00:00.000Z on the sheet lies after the clock of the keying"
    )
    assert "of the keying: the sheet" not in dict(describe_identity(session))["started"]
    remark = "note,,,,,,,times: of the weather,2026-05-04T08:00:00Z"  # no word of the program's
    other = paper.read(remark, "reading,SW-01,1,1.1,mohm,,,,2026-05-04T08:00:00Z")
    assert [each for each in find_exceptions(other) if each.kind is Kind.CLOCK] == []


def test_cautions_are_not_said_to_have_been_shown_where_no_brief_says_so(paper: Paper) -> None:
    told = " ".join(format_summary(paper.read(TIMED, "reading,SW-01,1,1.1,mohm")).split())
    assert "1 caution kept with this record, which does not say who read them: Static first." in told
    assert "shown in the brief" not in told
    briefed = " ".join(format_summary(Story(route_of()).clean().session()).split())
    assert "2 cautions shown in the brief: What comes first; Static first." in briefed


def test_a_finish_is_not_said_to_be_open_where_nobody_can_know(paper: Paper) -> None:
    session = paper.read(TIMED, "reading,SW-01,1,1.1,mohm")
    told = dict(Stories(session).tell("SW-01").stands)
    assert told["restored"] == "not in this record, see the paper: seal it"
    with paper.scene.begin() as desk:
        folder = desk.folder
    told = dict(Stories(read_session(Disk(), folder)).tell("SW-01").stands)
    assert told["restored"] == "NOT YET: seal it"
