"""Make the earlier sessions of the demo anew from their paper sheets.

    python demo/make.py [FOLDER]

Each sheet is transcribed as the crew's recorder would do it and the session closed a minute after
its last line. The clock is the sheet's own, so that the same sheets give the same bytes.
"""

from __future__ import annotations

import sys
import tempfile
from datetime import datetime, timedelta
from pathlib import Path

from fieldtui.desk.opening import resume_session
from fieldtui.desk.transcription import paper_brief, transcribe_sheet
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.files.sheet import parse_sheet
from fieldtui.files.starter import lay_out_practice

HERE = Path(__file__).resolve().parent
SURVEYS = (  # sheet, route, meter, job
    ("hangar-2026-04.csv", "hangar-ground", "ground-meter", "season ground check"),
    ("airframe-2026-05.csv", "airframe-bonds", "airframe-meter", "season bond check"),
    ("practice-2026-05.csv", "practice-slipway", "practice-meter", "slipway check"),
    ("jetty-2026-06.csv", "jetty-static", "static-meter", "season jetty check"),
)


class SheetClock:
    """Stands still at one time."""

    def __init__(self, time: datetime) -> None:
        self._time = time

    def wall(self) -> datetime:
        return self._time

    def elapsed(self) -> float:
        return 0.0


def make_sessions(folder: Path) -> list[Path]:
    """Transcribe and close every survey into ``folder``; returns the sessions' folders."""
    disk = Disk()
    with tempfile.TemporaryDirectory() as scratch:
        lay_out_practice(disk, Path(scratch), with_sessions=False)
        workspace = Workspace(Path(scratch), disk, folder)
        return [_make(workspace, *survey) for survey in SURVEYS]


def _make(workspace: Workspace, sheet: str, route_name: str, meter: str, job: str) -> Path:
    route = workspace.load_route(route_name)
    brief = paper_brief(
        workspace.tables(), route.route, meter=meter, job=job, prober="Ilse Brannow", recorder="Tam Orrick"
    )
    data = (HERE / "sheets" / sheet).read_bytes()
    last = max(line.time for line in parse_sheet(data, sheet).lines if line.time is not None)
    clock = SheetClock(last + timedelta(minutes=1))
    made = transcribe_sheet(workspace, route, data, sheet, brief, clock)
    with resume_session(workspace, made.folder, clock) as desk:
        desk.close("keyed from paper and checked against it")
    (made.folder / ".lock").unlink()  # whoever opens it to write makes it again
    return made.folder


if __name__ == "__main__":
    for made in make_sessions(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "sessions"):
        print(made)  # noqa: T201  what this script is for
