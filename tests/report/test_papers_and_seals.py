"""Exceptions of papers, signers, runs read on and seals that do not fit; and where a crew is warned."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.core.account.closing import Group, closing_items, left_undone
from fieldtui.core.trail import chain
from fieldtui.core.trail import events as ev
from fieldtui.desk.opening import reopen_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.transcription import paper_brief, transcribe_sheet
from fieldtui.desk.verifying import verify_session
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.files.sheet import COLUMNS as SHEET_COLUMNS
from fieldtui.files.trail.rows import COLUMNS, format_line, split_line
from fieldtui.report.findings.all import Finding, Kind, find_exceptions
from fieldtui.ui.app import FieldApp
from fieldtui.ui.screens.start import StartScreen
from fieldtui.ui.widgets.start_rows import list_workspace
from tests.desk.scenes import Scene, record
from tests.report.test_findings import of_kind, only, told
from tests.ui.review_fixtures import Story, page_of, shown_screen
from tests.ui.test_start import workspace_in
from tests.ui.walking import Ticking

# --- papers of failed points -----------------------------------------------------------------


def failed_twice() -> Story:
    return told().read("SW-01", "2.500").read("SW-02", "3.10")


def test_failed_points_without_a_reference_are_one_finding_with_their_ids() -> None:
    found = only(failed_twice(), Kind.NO_PAPER)
    assert found.what == "2 points failed or reworked without a discrepancy reference"
    assert found.where == "points SW-01, SW-02"
    assert of_kind(failed_twice(), Kind.AWAITED) == []


def test_a_point_with_its_paper_waits_for_rework_until_it_is_retested() -> None:
    story = failed_twice().tell(ev.DiscrepancyRaised, point="SW-01", ref="D-1")
    assert only(story, Kind.NO_PAPER).where == "point SW-02"
    assert only(story, Kind.AWAITED).where == "point SW-01"
    story.tell(ev.Reworked, point="SW-01", reason="cleaned", ref="D-1").read("SW-01", "1.2")
    assert of_kind(story, Kind.AWAITED) == []
    assert only(story, Kind.NO_PAPER).where == "point SW-02"


def test_what_a_failed_point_with_a_paper_waits_for_is_what_the_record_says() -> None:
    """Failed; reworked; failed again at the retest; another paper for that; reworked once more."""
    story = told().read("SW-02", "3.10").tell(ev.DiscrepancyRaised, point="SW-02", ref="D-1")

    def waits() -> str:
        return only(story, Kind.AWAITED).what.removeprefix("1 failed point: ")

    def closing() -> str:
        (item,) = [each for each in closing_items(story.survey()) if each.group is Group.FAILED]
        return item.what.rpartition("; ")[2]

    assert waits() == "discrepancy raised, rework and retest to come"
    story.tell(ev.Reworked, point="SW-02", reason="cleaned", ref="D-1")
    assert waits() == "discrepancy raised and reworked, retest to come"
    assert closing() == "discrepancy D-1"
    story.read("SW-02", "3.05")
    assert waits() == "failed again at the retest, and the discrepancy was raised before it"
    assert "or raise another" in only(story, Kind.AWAITED).remedy
    assert closing() == "discrepancy D-1, raised before the retest failed"
    assert story.survey().standings["SW-02"].is_settled  # nothing is asked for but what people decide
    story.tell(ev.DiscrepancyRaised, point="SW-02", ref="D-2")
    assert waits() == "discrepancy raised, rework and retest to come"
    assert closing() == "discrepancy D-2"
    story.tell(ev.Reworked, point="SW-02", reason="new lug", ref="D-2")
    assert waits() == "discrepancy raised and reworked, retest to come"
    story.read("SW-02", "3.02")
    assert closing() == "discrepancy D-2, raised before the retest failed"
    story.tell(ev.RedoAsked, point="SW-02", ref=3, reason="tips slipped")
    assert waits() == "discrepancy raised and reworked, retest to come"
    story.read("SW-02", "2.00")
    assert of_kind(story, Kind.AWAITED) == []


def test_a_rework_without_a_reference_is_told_though_the_retest_passed() -> None:
    story = (
        told().read("SW-01", "1.2").tell(ev.Reworked, point="SW-01", reason="cleaned").read("SW-01", "1.1")
    )
    assert only(story, Kind.NO_PAPER).where == "point SW-01"


# --- signers -------------------------------------------------------------------------------------


def signed(technician: tuple[str, str], inspector: tuple[str, str]) -> list[Finding]:
    story = told().read("SW-01", "1.2")
    for role, (name, stamp) in ((ev.Role.TECHNICIAN, technician), (ev.Role.INSPECTOR, inspector)):
        story.by = name
        story.tell(ev.Signed, ref=role, reason=stamp)
    return [each for each in of_kind(story, Kind.SIGNATURE) if "one person" in each.what]


@pytest.mark.parametrize(
    ("technician", "inspector", "is_one"),
    [
        (("Ana", "T-1"), ("Ivo", "I-1"), False),
        (("Ana", "T-1"), ("ana ", "I-1"), True),
        (("Ana", "T-1"), ("Ivo", "t-1"), True),
        (("Ana", ""), ("Ivo", ""), False),
        (("Ana", "T-1"), ("Ivo", ""), False),
    ],
)
def test_one_signer_in_both_roles_is_found(
    technician: tuple[str, str], inspector: tuple[str, str], is_one: bool
) -> None:
    assert bool(signed(technician, inspector)) is is_one


# --- a run that was read on after it was reconciled ------------------------------------------------


def memory_lines(story: Story) -> list[tuple[str, bool]]:
    return [(item.what, item.is_done) for item in closing_items(story.survey()) if item.group is Group.MEMORY]


def test_a_run_that_gets_readings_after_it_was_reconciled_no_longer_is() -> None:
    story = told().read("SW-01", "1.2").tell(ev.Reconciled, run=1, ref="list.csv")
    assert memory_lines(story)[0] == ("memory run 1: reconciled", True)
    story.read("SW-02", "1.4")
    assert 1 not in story.survey().reconciled
    assert memory_lines(story)[0] == ("memory run 1: read on after it was reconciled", False)
    assert any(item.group is Group.MEMORY for item in left_undone(story.survey()))
    told_of = [each.what for each in of_kind(story, Kind.NUMBER)]
    assert "memory run 1 was reconciled and got further entries afterwards: it no longer is" in told_of
    story.tell(ev.Reconciled, run=1, ref="list-2.csv")
    assert memory_lines(story)[0] == ("memory run 1: reconciled", True)
    assert not any("further entries" in each.what for each in of_kind(story, Kind.NUMBER))


def test_a_try_without_a_value_that_the_meter_filed_counts_and_one_that_it_did_not_file_does_not() -> None:
    story = told().read("SW-01", "1.2").tell(ev.Reconciled, run=1, ref="list.csv")
    story.tell(ev.AttemptFailed, point="SW-02", reason="unstable")
    assert 1 in story.survey().reconciled
    story.tell(ev.AttemptFailed, point="SW-02", reason="unstable", run=1, number=2)
    assert 1 not in story.survey().reconciled


def test_another_run_s_readings_leave_it_reconciled() -> None:
    story = told().read("SW-01", "1.2").tell(ev.Reconciled, run=1, ref="list.csv")
    story.tell(ev.RunStarted, run=2, number=1).read("SW-02", "1.4")
    assert story.survey().reconciled == {1}


# --- the seal written in a reopening ----------------------------------------------------------------


def reopened(tmp_path: Path) -> Path:
    scene = Scene(tmp_path)
    with scene.begin() as desk:
        record(desk, "1.38", "2.2")
        desk.close("weather")
        folder = desk.folder
    with reopen_session(scene.workspace, folder, scene.clock, "retest") as desk:
        record(desk, "1.1")
    return folder


def rechained(folder: Path, edit: tuple[str, str]) -> int:
    """Change a cell and make the chain anew; the row of the reopening."""
    first = read_session(Disk(), folder).facts.first_link
    path = folder / "trail.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    link, made, row = first, [lines[0] + "\n"], 0
    for line in lines[1:]:
        cells = split_line(line)[:-1]
        cells = [edit[1] if cell == edit[0] else cell for cell in cells]
        link = chain.link(link, cells)
        made.append(format_line([*cells, link]).decode())
        row = int(cells[0]) if cells[COLUMNS.index("kind")] == "reopen" else row
    path.write_text("".join(made), encoding="utf-8", newline="")
    return row


def test_a_reopening_names_the_seal_that_the_row_before_it_has(tmp_path: Path) -> None:
    folder = reopened(tmp_path)
    assert verify_session(Disk(), folder).problems == ()
    assert not any(each.kind is Kind.TRAIL for each in find_exceptions(read_session(Disk(), folder)))


def test_a_chain_made_anew_before_a_reopening_is_found_by_the_seal_written_there(tmp_path: Path) -> None:
    folder = reopened(tmp_path)
    row = rechained(folder, ("1.38", "1.28"))
    session = read_session(Disk(), folder)
    assert session.is_intact  # the chain alone does not show it
    found = verify_session(Disk(), folder)
    assert not found.ok
    (problem,) = found.problems
    assert (problem.file, problem.line, problem.field) == ("trail.csv", row + 1, "ref")
    assert "chain was made anew" in problem.remedy
    unproven, finding = [each for each in find_exceptions(session) if each.kind is Kind.TRAIL]
    assert unproven.what.startswith(f"rows 1 to {len(session.events)} are UNPROVEN; ")
    assert finding.where == f"trail.csv:{row + 1}, ref"


# --- a reason on paper ------------------------------------------------------------------------------


def test_a_reason_on_paper_is_a_confirmed_doubt_only_where_there_was_one(tmp_path: Path) -> None:
    scene = Scene(tmp_path)
    lines = (
        "reading,SW-01,1,1.38,mohm,,wind gusts,held twice,",
        "reading,SW-02,2,0.0021,mohm,,read again,,",  # a thousandth: nobody would believe it at once
    )
    data = "\n".join([",".join(SHEET_COLUMNS), *lines, ""]).encode()
    route = scene.workspace.load_route("wing")
    brief = paper_brief(scene.workspace.tables(), route.route)
    made = transcribe_sheet(scene.workspace, route, data, "sheet.csv", brief, scene.clock)
    assert [suspect.record for suspect in made.suspects] == [2]
    first, second = made.survey.records.values()
    assert (first.reason, first.note) == ("", "wind gusts; held twice")
    assert (second.reason, second.note) == ("read again", "")
    found = [
        each for each in find_exceptions(read_session(Disk(), made.folder)) if each.kind is Kind.CONFIRMED
    ]
    assert [each.reason for each in found] == ["read again"]


# --- where a crew is warned ---------------------------------------------------------------------------


class OnAStick(Disk):
    """Says of every place that it is on a stick."""

    def filesystem_note(self, path: Path, mounts: Path = Path("/proc/self/mountinfo")) -> str:
        return f"{path} is on a vfat medium: it promises little."


def test_the_start_screen_says_what_is_missing_and_what_the_medium_does_not_promise(tmp_path: Path) -> None:
    assert workspace_in(tmp_path / "a", wing="Wing bonds").warnings() == []
    workspace = Workspace(tmp_path / "a", OnAStick())
    (tmp_path / "a" / "shared").mkdir()
    (tmp_path / "a" / "shared" / "criteria.toml").write_text("", encoding="utf-8")
    told_of = workspace.warnings()
    assert [Path(each.split(":")[0]).name.partition(",")[0] for each in told_of[:-1]] == [
        "criteria.toml",  # which is empty
        "criteria.toml",
        "instruments.toml",
        "reasons.toml",
        "cautions.toml",
    ]
    assert told_of[-1].endswith("it promises little.")
    assert all(each in list_workspace(workspace).note for each in told_of)


async def test_the_warning_is_on_the_screen(tmp_path: Path) -> None:
    workspace_in(tmp_path, wing="Wing bonds")
    async with shown_screen(StartScreen(Workspace(tmp_path, OnAStick())), (120, 40)) as pilot:
        for _ in range(200):
            if "Wing bonds" in page_of(pilot):
                break
            await pilot.pause(0.01)
        assert "it promises little." in " ".join(page_of(pilot).split())


async def test_the_warning_comes_up_over_the_brief_too(tmp_path: Path) -> None:
    workspace_in(tmp_path, wing="Wing bonds")
    workspace = Workspace(tmp_path, OnAStick())
    app = FieldApp(workspace, Ticking(), route=workspace.load_route("wing"))
    async with app.run_test(size=(120, 40)) as pilot:
        for _ in range(200):
            if app._notifications:
                break
            await pilot.pause(0.01)
        assert [each.message for each in app._notifications] == workspace.warnings()
