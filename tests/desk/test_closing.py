"""Signing, ticking off and reopening on the desk, down to the rows on the disk."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.core.account.closing import STATEMENTS, holding_signature
from fieldtui.core.trail import events as ev
from fieldtui.desk import closing
from fieldtui.desk.opening import reopen_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.verifying import Paper, verify_session
from fieldtui.errors import BadInputError, WrongUseError
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.findings.finding import Kind
from fieldtui.report.text_summary import format_summary
from tests.desk.scenes import Scene, record


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path)


def sign_both(desk: Desk) -> None:
    closing.sign(desk, ev.Role.TECHNICIAN, "Ana", "T-12")
    closing.sign(desk, ev.Role.INSPECTOR, "Ivo", "I-07")


def reopened(scene: Scene, folder: Path, reason: str = "retest", by: str = "") -> Desk:
    return reopen_session(scene.workspace, folder, scene.clock, reason, by)


def test_a_signature_is_by_the_one_who_signs_with_the_statement_read(scene: Scene) -> None:
    with scene.begin() as desk:
        sign_both(desk)
        held = holding_signature(desk.survey, ev.Role.INSPECTOR)
        assert held is not None
        assert (held.event.by, held.event.reason) == ("Ivo", "I-07")
        assert held.event.note == STATEMENTS[ev.Role.INSPECTOR]


@pytest.mark.parametrize(("name", "stamp"), [("ANA", "I-07"), ("Ivo", "t-12"), ("\uff21na", "I-07")])
def test_one_person_does_not_sign_twice(scene: Scene, name: str, stamp: str) -> None:
    with scene.begin() as desk:
        closing.sign(desk, ev.Role.TECHNICIAN, "Ana", "T-12")
        rows = desk.rows
        with pytest.raises(WrongUseError, match="Ana signed as technician already"):
            closing.sign(desk, ev.Role.INSPECTOR, name, stamp)
        assert desk.rows == rows


@pytest.mark.parametrize("name", ["ilsa  quenby", "ILSA QUENBY", "Ilsa\u3000Quenby"])
def test_a_second_blank_in_a_name_makes_no_second_person(scene: Scene, name: str) -> None:
    with scene.begin() as desk:
        closing.sign(desk, ev.Role.TECHNICIAN, "Ilsa Quenby", "T-12")
        with pytest.raises(WrongUseError, match="Ilsa Quenby signed as technician already"):
            closing.sign(desk, ev.Role.INSPECTOR, name, "I-07")


@pytest.mark.parametrize(("name", "stamp"), [("", "T-12"), ("Ana", " "), ("An\x1ba", "T-12")])
def test_name_and_stamp_are_wanted_and_clean(scene: Scene, name: str, stamp: str) -> None:
    with scene.begin() as desk, pytest.raises(BadInputError):
        closing.sign(desk, ev.Role.TECHNICIAN, name, stamp)


def test_a_rework_leads_to_the_point_and_its_next_reading_is_the_retest(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "2.9")
        closing.rework(desk, "SW-01", "cleaned", "D-17")
        assert desk.survey.position.here == "SW-01"
        record(desk, "1.1")
        assert desk.survey.records[2].retest
        assert desk.survey.position.here == "SW-02"  # back where the walk was
        assert desk.survey.standings["SW-01"].discrepancy == "D-17"


def test_reopening_keeps_the_seal_it_breaks_and_everybody_is_told(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
        sign_both(desk)
        seal, rows = desk.close("rain"), desk.rows
    with reopened(scene, desk.folder, by="Ute") as again:
        record(again, "1.2")
        again.close("dark")
    assert verify_session(scene.disk, desk.folder).ok  # a reopening is no damage
    on_paper = verify_session(scene.disk, desk.folder, Paper(seal, rows))
    assert not on_paper.ok
    (went_on,) = on_paper.problems
    assert went_on.what.startswith(f"Unchanged up to row {rows}, as on the job card; then ")
    session = read_session(scene.disk, desk.folder)
    (found,) = [each for each in find_exceptions(session) if each.kind is Kind.REOPENED]
    assert seal[:4] in found.what and f"at row {rows}, reopened by Ute" in found.what
    assert found.reason == "retest"
    gone = [each.what for each in find_exceptions(session) if each.kind is Kind.SIGNATURE]
    assert gone == [
        "Ana (T-12) signed as technician, and the record was changed afterwards",
        "Ivo (I-07) signed as inspector, and the record was changed afterwards",
    ]
    summary = " ".join(format_summary(session).split())
    assert "closed, reopened 1 time" in summary
    assert "the record was CHANGED since and is not covered" in summary


def test_what_is_left_undone_at_the_close_is_an_exception(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "2.9")
        desk.close("rain")
    found = find_exceptions(read_session(scene.disk, desk.folder))
    whats = [each.what for each in found if each.kind in (Kind.UNDONE, Kind.SIGNATURE)]
    assert "closed with things left undone" in whats
    (paper,) = [each for each in found if each.kind is Kind.NO_PAPER]
    assert (paper.what, paper.where) == (
        "1 point failed or reworked without a discrepancy reference",
        "point SW-01",
    )
    assert "closed without the signature of the inspector" in whats


def test_an_open_session_is_not_reopened_and_left_as_it_was(scene: Scene) -> None:
    with scene.begin() as desk:
        record(desk, "1.1")
    before = (desk.folder / "trail.csv").read_bytes()
    for _ in range(2):  # and the lock is given back
        with pytest.raises(WrongUseError, match="not closed"):
            reopened(scene, desk.folder)
    assert (desk.folder / "trail.csv").read_bytes() == before


def test_a_reopening_wants_a_reason(scene: Scene) -> None:
    with scene.begin() as desk:
        desk.close("rain")
    before = (desk.folder / "trail.csv").read_bytes()
    with pytest.raises(BadInputError, match="reason"):
        reopened(scene, desk.folder, " ")
    assert (desk.folder / "trail.csv").read_bytes() == before


def test_a_torn_row_after_the_close_is_set_aside_once_it_is_reopened(scene: Scene) -> None:
    with scene.begin() as desk:
        desk.close("rain")
    with (desk.folder / "trail.csv").open("ab") as trail:
        trail.write(b"9,2026-05-04T08:30:00.000Z,reo")
    with reopened(scene, desk.folder) as again:
        assert scene.kinds(again)[-3:] == ["close", "reopen", "recovered"]
        assert not again.survey.problems
