"""Cut the power of a real file system under the desk, and hold what comes back to what was said.

Used by the tests with a few cuts and by the bench with many.
"""

from __future__ import annotations

import random
import shutil
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

from fieldtui.desk.opening import resume_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.verifying import verify_session
from fieldtui.errors import FieldtuiError
from fieldtui.files.disk import Disk
from fieldtui.files.durable import SESSION_NAME
from tests.crash.loop_disk import LoopDisk
from tests.desk.scenes import Scene

CUTS_PER_SESSION = 5  # then a new one is begun, so that beginning is cut too
LONGEST_S = 0.05  # from the first call to the cut
BEGINNING_S = 0.2  # the same where a session is being made: some twenty syncs


class LostError(AssertionError):
    """Something that was said to be saved is not there, or something is that nobody keyed."""


@dataclass
class Tally:
    """What many cuts came to."""

    cuts: int = 0
    acknowledged: int = 0  # rows, over all cuts
    begun: int = 0  # cuts that came while a session was being made
    torn: int = 0  # last rows found unfinished
    unsaid: int = 0  # rows found that nobody had been told of, at most one a cut


@dataclass
class _Crew:
    """Somebody who begins or resumes a session and keys notes until the disk gives up."""

    scene: Scene
    folder: Path | None
    folders: list[Path] = field(default_factory=list)
    rows: int = 0  # acknowledged
    notes: int = 0  # acknowledged
    is_begun: bool = False
    trouble: Exception | None = None

    def work(self) -> None:
        try:
            desk = self._open()
        except FieldtuiError:
            return
        try:
            while True:
                desk.note(f"note {self.notes + 1}")
                self.notes += 1
                self.rows = desk.rows
        except FieldtuiError:
            pass
        except Exception as error:  # noqa: BLE001  told by the one who waits for this thread
            self.trouble = error
        finally:
            desk.leave()

    def _open(self) -> Desk:
        desk = self.scene.resume(self.folder) if self.folder is not None else self.scene.begin()
        self.folder = desk.folder
        self.is_begun = True
        self.rows = desk.rows
        return desk


def cut_and_check(loop: LoopDisk, cuts: int, chance: random.Random, disk: Disk | None = None) -> Tally:
    """Cut ``cuts`` times and look each time; the desk writes through ``disk``.

    Raises:
        LostError: what must never happen has happened.
    """
    tally = Tally()
    scene = Scene(loop.place, disk=disk or Disk())
    folder: Path | None = None
    notes = 0
    loop.remount()  # what lies there already is no part of the test
    for cut in range(cuts):
        if cut % CUTS_PER_SESSION == 0:
            folder, notes = None, 0
            shutil.rmtree(loop.place / "sessions", ignore_errors=True)
            loop.remount()
        crew = _Crew(scene, folder, notes=notes)
        thread = threading.Thread(target=crew.work)
        thread.start()
        time.sleep(chance.uniform(0.0, BEGINNING_S if folder is None else LONGEST_S))
        loop.cut_power()
        thread.join(30)
        if thread.is_alive() or crew.trouble is not None:
            raise LostError(f"the writer met {crew.trouble!r}, or hangs")
        loop.remount()
        tally.cuts += 1
        tally.begun += folder is None
        folder, notes = _check(scene, crew, tally)
    return tally


def _check(scene: Scene, crew: _Crew, tally: Tally) -> tuple[Path | None, int]:
    """Hold what is on the disk to what was said; returns the session and its notes."""
    folder = crew.folder
    if not crew.is_begun and folder is None:
        found = [each for each in _folders(scene) if (each / SESSION_NAME).exists()]
        folder = found[0] if found else None  # made whole, and not yet said so
        if folder is None:
            return None, 0
    assert folder is not None
    if not (folder / SESSION_NAME).exists():
        raise LostError("a session that was said to have begun is gone")
    found_session = read_session(Disk(), folder)
    if not found_session.is_intact:
        raise LostError(f"a power cut was taken for damage: {found_session.problems}")
    notes = [event.note for event in found_session.events if event.kind == "note"]
    if notes[: crew.notes] != [f"note {number}" for number in range(1, crew.notes + 1)]:
        raise LostError(f"{crew.notes} notes were acknowledged, {len(notes)} are there")
    if found_session.rows < crew.rows or len(notes) > crew.notes + 1:
        raise LostError(f"{crew.rows} rows were acknowledged, {found_session.rows} are there")
    tally.acknowledged += crew.notes
    tally.torn += bool(found_session.torn)
    tally.unsaid += len(notes) - crew.notes
    with resume_session(scene.workspace, folder, scene.clock) as desk:  # it goes on, torn end or not
        desk.note(f"note {len(notes) + 1}")
    if not verify_session(Disk(), folder).ok:
        raise LostError("the record is not whole after going on")
    return folder, len(notes) + 1


def _folders(scene: Scene) -> list[Path]:
    folder = scene.workspace.sessions_folder
    return sorted(folder.iterdir()) if folder.is_dir() else []
