"""Every page and dialog over poisoned data, one after the other: ``python -m tests.crash.hostile_pages
PAYLOAD FOLDER``. Escape leads to the next one; the last one ends the program.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from fieldtui.core.drift.expectations import Expectation, Source
from fieldtui.core.drift.explanations import Change, Explanation, Kind
from fieldtui.core.drift.watch import Alarm, Evidence
from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import CheckStandard
from fieldtui.core.survey.memory import MemoryRun
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.entry import Doubt, DoubtKind, Entry
from fieldtui.desk.listed import ListUnits
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import BadInputError, Problem, SessionInUseError
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.amend import AmendDialog
from fieldtui.ui.dialogs.blind import BlindAgainDialog, BlindDialog
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.dialogs.form import FormDialog, Question
from fieldtui.ui.dialogs.handover import HandoverDialog
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.dialogs.in_use import InUseDialog
from fieldtui.ui.dialogs.insert import InsertDialog
from fieldtui.ui.dialogs.leave_brief import LeaveBriefDialog
from fieldtui.ui.dialogs.lesson_over import LessonOverDialog
from fieldtui.ui.dialogs.memory_run import MemoryRunDialog, MemoryStepDialog, UnreconciledDialog
from fieldtui.ui.dialogs.menu import menu_pages
from fieldtui.ui.dialogs.note import NoteDialog
from fieldtui.ui.dialogs.number import NumberDialog
from fieldtui.ui.dialogs.other_meter import OtherMeterDialog, UnlistedMeterDialog
from fieldtui.ui.dialogs.paused import PausedDialog
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.dialogs.points import OpenPointsDialog, PointsDialog
from fieldtui.ui.dialogs.problems import ProblemsDialog
from fieldtui.ui.dialogs.reason import ReasonDialog
from fieldtui.ui.dialogs.records import RecordDialog
from fieldtui.ui.dialogs.redo import FailedRedoDialog
from fieldtui.ui.dialogs.remark import RemarkDialog
from fieldtui.ui.dialogs.reopen import ReopenDialog
from fieldtui.ui.dialogs.standard import StandardDialog
from fieldtui.ui.dialogs.stopped import StoppedDialog, WhyStandsDialog
from fieldtui.ui.pages.close_out import CloseOutScreen
from fieldtui.ui.pages.drift import NumberDriftScreen, PlaceDialog
from fieldtui.ui.pages.drift_points import PointDriftScreen
from fieldtui.ui.pages.reconcile import ReconcileScreen
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row
from fieldtui.ui.writer import Writer
from tests.crash.hostile_app import PAYLOADS, desk_for
from tests.crash.poison import poisoned
from tests.desk.scenes import Scene
from tests.ui.review_fixtures import METER

Maker = Callable[[Desk, str], Dialog[Any]]
TODAY = date(2026, 5, 4)


def _reading(text: str):  # type: ignore[no-untyped-def]
    return parse_resistance(text, Unit.MOHM)


def _explanations(evil: str) -> list[Explanation]:
    changes = tuple(Change(p, 1, 1, (), 4, f"{evil}record 1 was stored again") for p in (0.6, 0.2))
    return [Explanation(kind, 0.4, changes) for kind in (Kind.STORED_TWICE, Kind.UNANNOUNCED)]


def _alarm(desk: Desk, evil: str) -> Alarm:
    record = desk.survey.records[1]
    place = Expectation(record.point, f"{evil}SW", -6.5, 0.2, Source.SURVEY)
    evidence = tuple(Evidence(number, Decimal("0.001"), place, place) for number in desk.survey.records)
    return Alarm(2, 1, 0.9, 0.99, 1, 1, f"{evil}one point passed over", evidence)


def _error(evil: str) -> BadInputError:
    problem = Problem(f"{evil}what", f"{evil}remedy", f"{evil}file", 3, f"{evil}field")
    return BadInputError(f"{evil}what", where=f"{evil}where", remedy=f"{evil}remedy", problems=[problem] * 3)


def _entry(desk: Desk, evil: str) -> Entry:
    doubt = Doubt(DoubtKind.SURVEY, f"{evil}ten times the last")
    here = desk.survey.here
    return Entry("1.5", here.id if here else "", 3, _reading("1.5"), None, Verdict.PASS, "1.5", (doubt,))


def _reconcile(desk: Desk, evil: str) -> Dialog[Any]:
    page = ReconcileScreen(desk, Writer())

    async def open_at_once() -> None:
        page._memory = [MemoryEntry(1, 1, _reading("9.38")), MemoryEntry(1, 2, _reading("0.7"))]
        page._list_name = f"{evil}list.csv"
        await page._compare()

    page._open = open_at_once  # type: ignore[method-assign]
    return page


async def _saved(*_: str) -> None:
    pass


PAGES: dict[str, Maker] = {
    "NumberDriftScreen": lambda desk, evil: NumberDriftScreen(desk.survey, 7, _explanations(evil)),
    "PlaceDialog": lambda desk, evil: PlaceDialog(_explanations(evil)[0], desk.survey),
    "PointDriftScreen": lambda desk, evil: PointDriftScreen(desk, _alarm(desk, evil), None),
    "ReconcileScreen": _reconcile,
    "CloseOutScreen": lambda desk, evil: CloseOutScreen(desk, Writer()),
    "AmendDialog": lambda desk, evil: AmendDialog(
        desk.survey.records[1], desk.survey.points[desk.survey.records[1].point]
    ),
    "BlindDialog": lambda desk, evil: BlindDialog(1, 1, ListUnits(Unit.MOHM), []),
    "BlindAgainDialog": lambda desk, evil: BlindAgainDialog(
        1, ListUnits(Unit.MOHM), [MemoryEntry(1, 1, parse_resistance("1.2", Unit.MOHM))], [0], {}
    ),
    "FormDialog": lambda desk, evil: FormDialog(f"{evil}heading", [Question(f"{evil}q", answer=f"{evil}a")]),
    "HandoverDialog": lambda desk, evil: HandoverDialog(Crew(f"{evil}Ben", f"{evil}Ana")),
    "HelpDialog": lambda desk, evil: HelpDialog("walk"),
    "InUseDialog": lambda desk, evil: InUseDialog(SessionInUseError(f"{evil}what", where=f"{evil}where")),
    "InsertDialog": lambda desk, evil: InsertDialog(desk.survey.points[desk.survey.order.ids[0]], Unit.MOHM),
    "LessonOverDialog": lambda desk, evil: LessonOverDialog([f"{evil}this"], [f"{evil}that"]),
    "MemoryRunDialog": lambda desk, evil: MemoryRunDialog(poisoned(METER, evil), is_other_meter=True),
    "MemoryStepDialog": lambda desk, evil: MemoryStepDialog(_run(desk), is_reconciled=False),
    "UnreconciledDialog": lambda desk, evil: UnreconciledDialog(1),
    "MenuDialog": lambda desk, evil: menu_pages([f"{evil}reason"] * 3, is_full=False)[0],
    "NoteDialog": lambda desk, evil: NoteDialog(f"{evil}point", [f"{evil}remark"] * 3),
    "NumberDialog": lambda desk, evil: NumberDialog(),
    "OtherMeterDialog": lambda desk, evil: OtherMeterDialog([poisoned(METER, evil)] * 2, METER, TODAY),
    "UnlistedMeterDialog": lambda desk, evil: UnlistedMeterDialog(METER),
    "PausedDialog": lambda desk, evil: PausedDialog(f"{evil}break"),
    "PickDialog": lambda desk, evil: PickDialog(f"{evil}pick", [(Row(1, shown(f"{evil}row")), 1)], hint="1"),
    "PointsDialog": lambda desk, evil: PointsDialog(
        f"{evil}points", desk.survey, list(desk.survey.points.values())
    ),
    "OpenPointsDialog": lambda desk, evil: OpenPointsDialog(
        f"{evil}points", desk.survey, list(desk.survey.points.values())
    ),
    "ProblemsDialog": lambda desk, evil: ProblemsDialog(_error(evil)),
    "ReasonDialog": lambda desk, evil: ReasonDialog(f"{evil}why?", [f"{evil}r"] * 3, switch=f"{evil}switch"),
    "FailedRedoDialog": lambda desk, evil: FailedRedoDialog(
        f"{evil}why?", [f"{evil}r"] * 3, switch=f"{evil}switch"
    ),
    "LeaveBriefDialog": lambda desk, evil: LeaveBriefDialog(),
    "RecordDialog": lambda desk, evil: RecordDialog(f"{evil}which?", list(desk.survey.records.values())),
    "RemarkDialog": lambda desk, evil: RemarkDialog(f"{evil}head", f"{evil}words", _saved, by=f"{evil}Ivo"),
    "ReopenDialog": lambda desk, evil: ReopenDialog(desk.session, f"{evil}seal", 3),
    "StandardDialog": lambda desk, evil: StandardDialog(
        CheckStandard(_reading("2.5"), _reading("0.05"), f"{evil}lid"), f"{evil}heading", next_number=3
    ),
    "StoppedDialog": lambda desk, evil: StoppedDialog(
        _entry(desk, evil), desk.weigh, unit=f"{evil}unit", what=f"{evil}what"
    ),
    "WhyStandsDialog": lambda desk, evil: WhyStandsDialog(_entry(desk, evil), [f"{evil}reason"] * 3),
}
# Those that show nothing of anybody's: words and numbers of the program's own.
OWN_WORDS = {
    *(
        "BlindDialog",
        "BlindAgainDialog",
        "HelpDialog",
        "MemoryStepDialog",
        "UnreconciledDialog",
        "NumberDialog",
        "LeaveBriefDialog",
    ),
    "UnlistedMeterDialog",
}


def _run(desk: Desk) -> MemoryRun:
    run = desk.survey.run
    assert run is not None
    return run


class Gallery(FieldApp):
    """Shows one after the other."""

    def __init__(self, payload: str, folder: Path) -> None:
        scene = Scene(folder)
        super().__init__(scene.workspace, scene.clock)
        self._desk = desk_for(payload, scene)
        self._desk.session = replace(self._desk.session, id=f"{payload}id")
        self._payload = payload
        self._left = list(PAGES)

    def on_ready(self) -> None:  # over the start screen
        self._next()

    def _next(self, _: object = None) -> None:
        if not self._left:
            self.exit(0)
            return
        name = self._left.pop(0)
        self.push_screen(PAGES[name](self._desk, self._payload), self._next)


def main() -> None:
    payload, folder = sys.argv[1:3]
    StoppedDialog.LOOK_S = 0.0  # what is looked at here is the picture
    Gallery(PAYLOADS[payload], Path(folder)).run()


if __name__ == "__main__":
    main()
