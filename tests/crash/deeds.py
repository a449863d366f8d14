"""Everything on the screens that writes, as keys: for killing the program in the middle of each.

A deed starts from a stage (a workspace, a session in some state, a command) and says which rows it adds
to the trail and what stands on the screen once they are safe. ``test_deeds`` plays each to its end and
holds the list against the kinds of events, the actions and the dialogs that there are.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from fieldtui.core.account.closing import Group, closing_items
from fieldtui.core.plan.session import Crew
from fieldtui.core.remarks import Place
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.clock import SystemClock
from fieldtui.desk.opening import begin_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.remarks import RemarkDesk
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from tests.desk.scenes import QuickDisk, record
from tests.ui.walking import route_text

ROOT = Path(__file__).resolve().parents[2]
# Neighbours differ by a factor, so that the drift watch sees a shift at once.
VALUES = "0.52 1.9 0.81 1.4 0.33 1.1 2.2 0.64 1.7 0.45 1.25 0.92".split()
REVIEWER = "Ivo"
METERS = """\
format = 1
[instruments.m1]
title = "test meter"
unit = "mohm"
memory_size = 100
first_number = 1
calibration_due = 2099-01-01
check_standard = { value = 2.500, tolerance = 0.050, unit = "mohm" }
"""


@dataclass(frozen=True)
class Stage:
    """Where a deed starts. ``make`` fills a workspace; the command and what stands on the screen then."""

    make: Callable[[Path], Path | None]
    command: str  # of the program; the session's folder is its argument where there is one
    ready: str


@dataclass(frozen=True)
class Deed:
    """``keys`` as the tests of the walk press them; ``@GROUP`` marks that group's first line to do.

    ``?some_words`` is no key: the words are waited for, where what follows must have been seen.
    """

    stage: str
    keys: str
    rows: str  # the kinds of rows it adds, in order
    said: str  # on the screen once all is on the disk
    dialogs: str = ""  # those it goes through, and pages


# --- stages ---------------------------------------------------------------------------------------


def _workspace(root: Path) -> Workspace:
    (root / "routes").mkdir()
    text = route_text(len(VALUES), restore='"conversion coat"')
    text += '[[paths]]\nid = "A"\ntitle = "Flap to keel"\npoints = ["SW-01", "SW-02"]\nlimit = { max = 1 }\n'
    (root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    shutil.copytree(ROOT / "shared", root / "shared")
    (root / "shared" / "instruments.toml").write_text(METERS, encoding="utf-8")
    return Workspace(root, QuickDisk())


def _begin(workspace: Workspace) -> Desk:
    meter = workspace.tables().instruments["m1"]
    standard = meter.check_standard
    assert standard is not None
    brief = Brief(
        job="J-1", crew=Crew("Ben", "Ana"), instrument=meter, next_number=1, standard=standard.value
    )
    return begin_session(workspace, workspace.load_route("wing"), brief, SystemClock())


def _walk(root: Path, then: Callable[[Desk], object] = lambda _: None) -> Path:
    """Four readings, the third a failing one; a list from the meter that does not agree with them."""
    workspace = _workspace(root)
    rows = ["1,1,1.9,mohm,", "1,2,2.9,mohm,", "1,3,4.1,mohm,"]  # the first not kept, the fourth keyed wrong
    (root / "list.csv").write_text("\n".join(["run,number,value,unit,state", *rows]) + "\n", encoding="utf-8")
    with _begin(workspace) as desk:
        record(desk, VALUES[0], "1.9", "2.9", VALUES[3])
        then(desk)
    return desk.folder


def _paused(root: Path) -> Path:
    return _walk(root, lambda desk: desk.pause("break"))


def _doubtful(root: Path) -> Path:
    return _walk(root, lambda desk: desk.check_standard("2.9", is_last=True))


def _spare(root: Path) -> Path:
    folder = _walk(root)
    spare = METERS.replace("format = 1\n", "").replace("m1", "m2").replace("test meter", "spare")
    (root / "shared" / "instruments.toml").write_text(METERS + spare, encoding="utf-8")
    return folder


def _surveyed(root: Path, *more: str) -> Path:
    """Two earlier surveys, and the beginning of a third."""
    workspace = _workspace(root)
    for _ in range(2):
        with _begin(workspace) as desk:
            record(desk, *VALUES)
            desk.close("done")
    with _begin(workspace) as desk:
        record(desk, *VALUES[:6], *more)
    return desk.folder


def _drifted(root: Path) -> Path:
    """Left where the prober had passed a point over, and nobody had said so yet."""
    return _surveyed(root, VALUES[7])


def _unbegun(root: Path) -> None:
    _workspace(root)


def _closed(root: Path) -> Path:
    return _walk(root, lambda desk: desk.close("dark"))


def _remarked(root: Path) -> Path:
    folder = _closed(root)
    desk = RemarkDesk(QuickDisk(), read_session(Disk(), folder), SystemClock())
    desk.add(REVIEWER, "look again", Place(record=3))
    return folder


STAGES = {
    "walk": Stage(_walk, "resume", "NOW"),
    "paused": Stage(_paused, "resume", "PAUSED"),
    "doubtful": Stage(_doubtful, "resume", "NOW"),
    "spare": Stage(_spare, "resume", "NOW"),
    "surveyed": Stage(_surveyed, "resume", "NOW"),
    "drifted": Stage(_drifted, "resume", "DRIFT"),
    "brief": Stage(_unbegun, "walk wing", "BLOCKED"),
    "start": Stage(_closed, "", "Closed sessions"),
    "review": Stage(_remarked, "review", "chain INTACT"),
}

# --- deeds ----------------------------------------------------------------------------------------

BRIEF = "f3 tab ‹Ben› enter ‹Ana› enter ‹J-1› enter enter ‹1› enter ‹2.5› enter ‹1› enter ‹1› enter enter f5"
STOPPED = "‹0.64› enter ?What_the ‹0.64› enter"  # doubtful, and read again
DEEDS: dict[str, Deed] = {
    "brief": Deed("brief", BRIEF, "start " + "brief " * 5 + "run", "NOW", "BriefScreen"),
    "reading": Deed("walk", "‹1.21› enter", "reading", "RECORDED 5"),
    "doubted reading": Deed(
        "walk", "‹21.1› enter ?What_the ‹21.1› enter", "reading", "RECORDED 5", "StoppedDialog"
    ),
    "doubted reading for a reason": Deed(
        "walk", "‹21.1› enter ?What_the slash ?why_does_it 1", "reading", "RECORDED 5",
        "StoppedDialog WhyStandsDialog",
    ),
    "skip": Deed("walk", "s 1", "skip", "SKIPPED", "ReasonDialog"),
    "no value": Deed("walk", "x 2", "attempt", "NO VALUE", "ReasonDialog"),
    "take again": Deed("walk", "t 1", "redo", "TAKE AGAIN", "ReasonDialog"),
    "take another again": Deed(
        "walk", "t slash 1 down enter", "redo", "TAKE AGAIN", "ReasonDialog RecordDialog"
    ),
    "rework": Deed(
        "walk", "z 1 enter ‹D-1› enter", "rework jump", "REWORKED  SW-03", "ReasonDialog FormDialog"
    ),
    "rework instead of a redo": Deed(
        "walk", "o ‹SW-03› enter z 1 enter ‹D-1› enter", "rework jump", "REWORKED  SW-03",
        "OpenPointsDialog FailedRedoDialog ReasonDialog FormDialog",
    ),
    "void": Deed("walk", "v enter 1", "void", "VOID", "RecordDialog ReasonDialog"),
    "void and erase": Deed("walk", "v enter slash 1", "void erase", "VOID", "RecordDialog ReasonDialog"),
    "number agrees": Deed("walk", "c ‹4› enter", "number", "NUMBERS AGREE", "NumberDialog"),
    "number differs": Deed(
        "walk", "c ‹5› enter ?THE_NUMBERS 1 enter ?Undecided 1 enter 1 enter", "number renumber",
        "IN STEP AGAIN",
        "NumberDialog NumberDriftScreen PlaceDialog ReasonDialog",
    ),
    "check standard": Deed("walk", "g ‹2.51› enter enter", "standard", "METER GOOD", "StandardDialog"),
    "lead": Deed("walk", "e 1", "lead", "LEAD OR TIPS CHANGED", "ReasonDialog"),
    "insert": Deed(
        "walk", "i ‹Strap› enter enter enter enter 1", "insert", "INSERTED", "InsertDialog ReasonDialog"
    ),
    "jump": Deed("walk", "j ‹SW-07› enter 1 enter", "jump", "GONE TO", "PointsDialog ReasonDialog"),
    "open points": Deed(
        "walk", "o ‹SW-08› enter 1 enter", "jump", "GONE TO", "OpenPointsDialog ReasonDialog"
    ),
    "far end": Deed("walk", "b 1", "reverse", "FAR END FIRST", "ReasonDialog"),
    "remark": Deed("walk", "n 1", "note", "NOTED", "NoteDialog"),
    "remark in own words": Deed("walk", "n 0 ‹loose› enter", "note", "NOTED", "NoteDialog"),
    "pause": Deed("walk", "p 1 ?PAUSED enter", "pause proceed", "GOING ON", "ReasonDialog PausedDialog"),
    "go on after a pause": Deed("paused", "enter", "proceed", "GOING ON", "PausedDialog"),
    "correct": Deed(
        "walk", "w enter ‹1.5› enter 1", "amend", "CORRECTED", "RecordDialog AmendDialog ReasonDialog"
    ),
    "from the menu": Deed("walk", "slash 5 1", "void", "VOID", "MenuDialog ReasonDialog"),
    "next run": Deed(
        "walk", "f 2 ?IS_NOT_RECONCILED 9 ?number_the_next enter 1", "run", "MEMORY RUN  2",
        "MemoryStepDialog UnreconciledDialog MemoryRunDialog ReasonDialog",
    ),
    "another meter": Deed(
        "walk", "f 3 ‹spare› enter ?number_the_next enter 1", "meter run", "ANOTHER METER",
        "MemoryStepDialog UnlistedMeterDialog ReasonDialog",
    ),
    "another meter of the table": Deed(
        "spare", "y ?Which_meter 1 ?number_the_next enter 1", "meter run", "ANOTHER METER",
        "OtherMeterDialog MemoryRunDialog ReasonDialog",
    ),
    "handover": Deed(
        "walk", "a ‹Cleo› enter enter 1", "handover", "HANDED OVER", "HandoverDialog ReasonDialog"
    ),
    "reconcile, all that is certain": Deed(
        "walk", "h 1 ‹list.csv› enter ?with_list.csv 1 1",
        "unfiled amend amend amend amend renumber reconcile", "TAKEN OVER",
        "ReconcileScreen PickDialog FormDialog ReasonDialog",
    ),
    "reconcile, one line": Deed(
        "walk", "h 1 ‹list.csv› enter ?with_list.csv 2 1", "unfiled", "TAKEN OVER",
        "ReconcileScreen PickDialog FormDialog ReasonDialog",
    ),
    "reconcile, keyed blind": Deed(
        "walk", "h 2 ‹0.52› enter ‹1.9› enter ‹2.9› enter ‹1.4› enter enter ?list_keyed_blind 1 1",
        "reconcile", "TAKEN OVER",
        "ReconcileScreen PickDialog BlindDialog ReasonDialog",
    ),
    "reconcile, a line the list lost": Deed(
        "walk", "h 2 ‹2› space ‹1.9› enter ‹2.9› enter ‹1.4› enter enter ?LOOK_AT_METER 2 ?was_it_kept 1",
        "note", "keeps number 1", "ReconcileScreen PickDialog BlindDialog",
    ),
    "reconcile, keyed blind and once more": Deed(
        "walk",
        "h 2 ‹0.52› enter ‹1.9› enter ‹2.7› enter ‹1.4› enter enter ?key_it_again ‹2.7› enter "
        "?UNDECIDED 2 1 1",
        "amend", "TAKEN OVER",
        "ReconcileScreen PickDialog BlindDialog BlindAgainDialog ReasonDialog",
    ),
    "readings move": Deed(
        "surveyed", f"{STOPPED} ?DRIFT down enter enter 1 enter", "reading shift", "READINGS MOVED",
        "PointDriftScreen ReasonDialog",
    ),
    "section from its far end": Deed(
        "surveyed", f"{STOPPED} ?DRIFT down down enter up up up up up up enter 1 enter", "reading mirror",
        "FAR END FIRST", "PointDriftScreen ReasonDialog",
    ),
    "readings move, asked again": Deed(
        "drifted", "down enter enter 1 enter", "shift", "READINGS MOVED", "PointDriftScreen ReasonDialog"
    ),
    "readings moved by the crew": Deed(
        "walk", "equals_sign enter 1 enter", "shift", "READINGS MOVED", "PointDriftScreen ReasonDialog"
    ),
    "in step after all": Deed(
        "surveyed", f"{STOPPED} ?DRIFT down down down enter", "reading note", "IN STEP", "PointDriftScreen"
    ),
    "close-out: go there": Deed("walk", "d ?CLOSE @POINTS 1", "", "GONE TO", "CloseOutScreen"),
    "close-out: not accessible": Deed(
        "walk", "d ?CLOSE @POINTS 2 ‹ladder› enter", "attempt", "NOT ACCESSIBLE", "CloseOutScreen FormDialog"
    ),
    "close-out: waive": Deed(
        "walk", "d ?CLOSE @FAILED 3 ‹Ida› enter ‹W-1› enter", "waive", "WAIVED", "CloseOutScreen FormDialog"
    ),
    "close-out: discrepancy": Deed(
        "walk", "d ?CLOSE @FAILED 1 ‹D-1› enter", "discrepancy", "DISCREPANCY", "CloseOutScreen FormDialog"
    ),
    "close-out: rework": Deed(
        "walk", "d ?CLOSE @FAILED 2 ‹D-1› enter 1", "rework jump", "GONE TO",
        "CloseOutScreen FormDialog ReasonDialog",
    ),
    "close-out: paper of a path": Deed(
        "walk", "d ?CLOSE @PATHS 1 ‹D-2› enter", "path", "PAPER D-2", "CloseOutScreen FormDialog"
    ),
    "close-out: restored": Deed("walk", "d ?CLOSE @RESTORE 1", "restored", "RESTORED", "CloseOutScreen"),
    "close-out: section restored": Deed(
        "walk", "d ?CLOSE @RESTORE 2", "restored " * 4, "RESTORED", "CloseOutScreen"
    ),
    "close-out: check standard": Deed(
        "walk", "d ?CLOSE @METER 1 ‹2.51› enter enter", "standard", "METER GOOD",
        "CloseOutScreen StandardDialog",
    ),
    "close-out: let stand": Deed(
        "doubtful", "d ?CLOSE @DOUBT 1 0 ‹ok› enter", "release", "STANDS", "CloseOutScreen ReasonDialog"
    ),
    "close-out: let all stand": Deed(
        "doubtful", "d ?CLOSE @DOUBT 3 0 ‹ok› enter", "release " * 4, "STAND:", "CloseOutScreen ReasonDialog"
    ),
    "close-out: take again": Deed(
        "doubtful", "d ?CLOSE @DOUBT 2 0 ‹ok› enter", "redo", "GONE TO", "CloseOutScreen ReasonDialog"
    ),
    "close-out: sign": Deed(
        "walk", "d ?CLOSE @SIGNATURES 1 ‹Ida› enter ‹T-1› enter", "sign", "SIGNED as",
        "CloseOutScreen FormDialog",
    ),
    "close-out: close": Deed(
        "walk", "d ?CLOSE 9 ‹dark› enter", "close", "CLOSED", "CloseOutScreen FormDialog"
    ),
    "reopen": Deed(
        "start", "end o ‹retest› enter ?who_opens enter", "reopen", "NOW", "StartScreen ReopenDialog"
    ),
    "remark of a reviewer": Deed(
        "review", "n ‹Ivo› enter ‹and here› enter", "", "Saved in", "ReviewScreen RemarkDialog"
    ),
    "remark withdrawn": Deed(
        "review", "m w ‹Ivo› enter ‹seen› enter", "", "Saved in", "ReviewScreen RemarkDialog"
    ),
}  # fmt: skip
REMARKS = {"remark of a reviewer": 2, "remark withdrawn": 2}  # remarks there are afterwards

# Rows that no key writes: they come by themselves, and have tests of their own.
BY_THEMSELVES = frozenset({"open", "recovered", "clock"})


def keys_of(deed: Deed, folder: Path | None) -> Iterator[str]:
    """The deed's keys one by one, its marks resolved against the session in ``folder``."""
    for key in deed.keys.split(" "):
        if key.startswith("@"):
            assert folder is not None
            group = Group[key[1:]]
            items = sorted(closing_items(read_session(Disk(), folder).survey), key=_order)
            down = next(n for n, item in enumerate(items) if item.group is group and not item.is_done)
            yield from ("home", *("down" for _ in range(down)))
        elif key:
            yield key


def _order(item) -> int:  # type: ignore[no-untyped-def]
    return list(Group).index(item.group)
