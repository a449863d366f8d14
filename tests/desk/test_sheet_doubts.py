"""What a transcribed sheet says of doubtful values and of numbers out of step."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.core.trail import events as ev
from fieldtui.desk.reading import read_session
from fieldtui.desk.transcription import Transcribed, paper_brief, transcribe_sheet
from fieldtui.files.disk import Disk
from fieldtui.files.sheet import COLUMNS
from tests.desk.scenes import ROUTE, Scene

POINTS = 24
HEAD = ROUTE.split("[[points]]")[0]
POINT = '[[points]]\nid = "SW-{n:02}"\nsection = "SW"\ntitle = "Bond {n}"\nlimit = {{ max = 9.0 }}\n'
# far enough apart that a shift by one is soon plain, whatever the order of neighbours
VALUES = [f"{0.4 * 1.31 ** ((7 * n) % 11):.2f}" for n in range(POINTS)]


class Sheets:
    """Sheets of one long route, one a day."""

    def __init__(self, root: Path) -> None:
        self.scene = Scene(root)
        (root / "routes" / "wing.toml").write_text(
            HEAD + '[[points]]\nid = "HU-01"\nsection = "HU"\ntitle = "Hull"\nlimit = { max = 9.0 }\n'
            + "".join(POINT.format(n=n) for n in range(POINTS)),
            encoding="utf-8",
        )  # fmt: skip

    def take(self, day: str, values: list[str], *more: str, first: int = 0) -> Transcribed:
        lines = [f"note,,,,,,,begin,{day}T08:00:00Z", *more]
        lines += [f"reading,SW-{first + n:02},{n + 1},{value},mohm" for n, value in enumerate(values)]
        workspace = self.scene.workspace
        route = workspace.load_route("wing")
        brief = paper_brief(workspace.tables(), route.route)
        data = "\n".join([",".join(COLUMNS), *lines, ""]).encode()
        return transcribe_sheet(workspace, route, data, "sheet.csv", brief, self.scene.clock)


@pytest.fixture
def sheets(tmp_path: Path) -> Sheets:
    return Sheets(tmp_path)


def test_a_slip_is_listed_with_the_value_it_would_have_been(sheets: Sheets) -> None:
    assert sheets.take("2026-05-04", VALUES).suspects == ()
    wrong = [*VALUES[:5], f"{float(VALUES[5]) * 10:.1f}", *VALUES[6:]]
    made = sheets.take("2026-05-11", wrong)
    (suspect,) = made.suspects
    assert (suspect.record, suspect.likely) == (6, f"{VALUES[5]} mohm")
    assert "decimal moved" in suspect.why
    assert suspect.as_json() == {"record": 6, "why": suspect.why, "likely": suspect.likely}
    assert made.survey.records[6].reading.digits == wrong[5]  # the sheet is taken at its word


def test_the_same_sheet_again_is_not_its_own_history(sheets: Sheets) -> None:
    wrong = [*VALUES[:5], f"{float(VALUES[5]) * 100:.0f}", *VALUES[6:]]
    assert [suspect.record for suspect in sheets.take("2026-05-04", wrong).suspects] == [6]


def test_a_point_passed_over_raises_an_alarm(sheets: Sheets) -> None:
    sheets.take("2026-05-04", VALUES)
    assert sheets.take("2026-05-11", VALUES).alarms == ()
    shifted = VALUES[:8] + VALUES[9:]  # from record 9 on the prober is one point ahead
    alarm = sheets.take("2026-05-18", shifted).alarms[0]
    assert alarm.shift == 1
    assert abs(alarm.began_at - 9) <= 1
    assert alarm.record >= alarm.began_at
    assert alarm.probability > 0.9
    assert alarm.cause == "one point passed over"
    assert alarm.as_json()["shift"] == 1


def test_a_number_check_that_differs_raises_an_alarm(sheets: Sheets) -> None:
    lines = [f"reading,SW-{n:02},{n + 1},{VALUES[n]},mohm,{n + 1}" for n in range(6)]
    made = sheets.take("2026-05-04", [], *lines, "number,,,,,7", "number,,,,,6")
    (alarm,) = made.alarms
    assert (alarm.record, alarm.shift) == (6, 1)
    assert 1 <= alarm.began_at <= 6
    assert 0 < alarm.probability < 1
    assert alarm.cause in ("stored twice", "unannounced reading", "number misheard", "spoiled number")
    assert [check.verdict for check in checks(made)] == [ev.Agreement.DIFFER, ev.Agreement.AGREE]


def checks(made: Transcribed) -> list[ev.NumberChecked]:
    events = read_session(Disk(), made.folder).events
    return [event for event in events if isinstance(event, ev.NumberChecked)]


def test_verdicts_that_lack_an_accuracy_say_so_in_the_trail(sheets: Sheets) -> None:
    path = sheets.scene.root / "routes" / "wing.toml"
    path.write_text(path.read_text().replace("check_every", 'decision = "guarded"\ncheck_every', 1))
    made = sheets.take("2026-05-04", VALUES)
    notes = [e.note for e in read_session(Disk(), made.folder).events if isinstance(e, ev.Noted)]
    assert any("no accuracy is known for this meter" in note for note in notes)
