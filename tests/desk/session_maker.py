"""Small closed and open sessions on disk, made from paper sheets. All invented."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.desk.transcription import paper_brief, transcribe_sheet
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk

ROUTE = """
format = 1
title = "Starboard wing bonds"
asset = "{asset}"
revision = "{revision}"
unit = "mohm"

[[sections]]
id = "SW"
title = "Starboard wing"
"""
POINT = """
[[points]]
id = "{id}"
section = "SW"
title = "Jumper {id}"
a = "flap bracket"
b = "rear spar"
limit = {{ max = {limit}, cmp = "<=" }}
"""
HEADER = "action,point,record,value,unit,memory,reason,note,time\n"


class StillClock:
    """A clock that stands still, for sessions whose times are on their sheets."""

    def wall(self) -> datetime:
        return datetime(2026, 6, 1, 12, 0, tzinfo=UTC)

    def elapsed(self) -> float:
        return 0.0


class SessionMaker:
    """Makes sessions along one route in a workspace of their own."""

    def __init__(self, root: Path) -> None:
        self.workspace = Workspace(root, Disk())
        self.folder = self.workspace.sessions_folder
        (root / "routes").mkdir()
        self.folder.mkdir()

    def make(
        self,
        day: str,
        *lines: str,
        route: str = "wing",
        limit: str = "2.5",
        points: str = "SW-01 SW-02 SW-03",
        asset: str = "amphibious twin ZX-41",
        revision: str = "B",
        meter: str = "",
        **read: str,
    ) -> Path:
        """A session of ``day``; ``SW_01="1.38"`` is a reading, ``lines`` are the sheet's further ones."""
        path = self.workspace.root / "routes" / f"{route}.toml"
        text = ROUTE.format(asset=asset, revision=revision)
        path.write_text(text + "".join(POINT.format(id=point, limit=limit) for point in points.split()))
        rows = [
            f"reading,{point.replace('_', '-')},{number},{value},mohm,,,,{day}T08:3{number}:00Z\n"
            for number, (point, value) in enumerate(read.items(), 1)
        ]
        rows += [f"{line}\n" for line in lines] or [f"note,,,,,,,end of the sheet,{day}T08:50:00Z\n"]
        loaded = self.workspace.load_route(str(path))
        brief = paper_brief(self.workspace.tables(), loaded.route, meter=meter)
        sheet = (HEADER + "".join(rows)).encode()
        made = transcribe_sheet(self.workspace, loaded, sheet, f"{day}.csv", brief, StillClock())
        return made.folder

    def read(self, day: str, *lines: str, **facts: str) -> ReadSession:
        """The same, opened to be read."""
        return read_session(self.workspace.disk, self.make(day, *lines, **facts))
