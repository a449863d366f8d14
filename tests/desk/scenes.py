"""A workspace in a folder, a clock that is set by hand, and disks that fail when told to."""

from __future__ import annotations

import errno
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import CheckStandard, Instrument
from fieldtui.core.survey.brief import Brief
from fieldtui.core.trail.events import Event
from fieldtui.desk.opening import begin_session, resume_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk

START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)

ROUTE = """\
format = 1
title = "Starboard wing bonds"
asset = "amphibious twin ZX-41"
revision = "B"
source = "invented for the test"
unit = "mohm"
check_every = 4

[[sections]]
id = "SW"
title = "Starboard wing"

[[sections]]
id = "HU"
title = "Hull"

[[points]]
id = "SW-01"
section = "SW"
title = "Flap jumper"
limit = { max = 2.5, cmp = "<" }

[[points]]
id = "SW-02"
section = "SW"
title = "Tank vent"
limit = { max = 3.0, cmp = "<=" }

[[points]]
id = "SW-03"
section = "SW"
title = "Spar strap"
limit = { max = 3.0, cmp = "<=" }
repeats = 3
rule = "median"

[[points]]
id = "HU-01"
section = "HU"
title = "Bilge pump"
unit = "ohm"
limit = { max = 0.1, cmp = "<" }

[[points]]
id = "HU-02"
section = "HU"
title = "Keel plate"
limit = { record_only = true }
"""

METER = Instrument(
    id="small-meter",
    title="Small bond meter",
    serial="0417",
    memory_size=12,
    calibration_due=date(2029, 3, 31),
    check_standard=CheckStandard(
        value=parse_resistance("2.500", Unit.MOHM), tolerance=parse_resistance("0.050", Unit.MOHM)
    ),
)
BRIEF = Brief(
    job="WO-1",
    crew=Crew(prober="Ben", recorder="Ana"),
    instrument=METER,
    next_number=1,
    standard=parse_resistance("2.51", Unit.MOHM),
)


@dataclass
class SetClock:
    """A clock that stands still until it is moved."""

    time: datetime = START
    counter: float = 0.0

    def wall(self) -> datetime:
        return self.time

    def elapsed(self) -> float:
        return self.counter

    def tick(self, seconds: float) -> None:
        """Time goes by."""
        self.time += timedelta(seconds=seconds)
        self.counter += seconds

    def step(self, seconds: float) -> None:
        """Somebody sets the clock."""
        self.time += timedelta(seconds=seconds)


class QuickDisk(Disk):
    """A disk that does not wait for the medium: what is asked of it is on a real disk all the same."""

    def sync_data(self, fd: int) -> None:
        pass

    def sync_folder(self, path: Path) -> str:
        return ""


@dataclass
class FailingDisk(QuickDisk):
    """A disk on which the calls named in ``fails`` raise, once each, in order."""

    fails: list[tuple[str, int]] = field(default_factory=list)  # call and error number

    def _may_fail(self, call: str) -> None:
        if self.fails and self.fails[0][0] == call:
            _, code = self.fails.pop(0)
            raise OSError(code, "told to fail")

    def write(self, fd: int, data: bytes) -> int:
        self._may_fail("write")
        if self.fails and self.fails[0][0] == "short":
            self.fails.pop(0)
            return super().write(fd, data[: len(data) // 2])
        return super().write(fd, data)

    def sync_data(self, fd: int) -> None:
        self._may_fail("sync")

    def read_at(self, fd: int, size: int, offset: int) -> bytes:
        self._may_fail("read")
        return super().read_at(fd, size, offset)

    def list_folder(self, path: Path) -> list[str]:
        self._may_fail("list")
        return super().list_folder(path)


FULL, BROKEN = errno.ENOSPC, errno.EIO


@dataclass
class Scene:
    """A workspace with one route, ``wing``, and everything needed to begin a session on it."""

    root: Path
    disk: Disk = field(default_factory=QuickDisk)
    clock: SetClock = field(default_factory=SetClock)

    def __post_init__(self) -> None:
        (self.root / "routes").mkdir(exist_ok=True)
        (self.root / "routes" / "wing.toml").write_text(ROUTE, encoding="utf-8")
        self.workspace = Workspace(self.root, self.disk)

    def begin(self, brief: Brief = BRIEF, **facts: bool) -> Desk:
        return begin_session(self.workspace, self.workspace.load_route("wing"), brief, self.clock, **facts)

    def resume(self, folder: Path) -> Desk:
        return resume_session(self.workspace, folder, self.clock)

    def events(self, desk: Desk) -> Sequence[Event]:
        """What stands in the trail on disk."""
        return read_session(Disk(), desk.folder).events

    def kinds(self, desk: Desk) -> list[str]:
        return [event.kind for event in self.events(desk)]


def record(desk: Desk, *values: str) -> None:
    """Key values one after the other; what is doubted is confirmed."""
    for value in values:
        entry = desk.weigh(value)
        desk.record(entry, "read back" if entry.doubts else "")
