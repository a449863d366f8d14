"""The practice: the demo workspace, and the script of a prober who calls out from it."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from fieldtui.core.brief import Brief
from fieldtui.core.ohms import Resistance
from fieldtui.core.session import Crew
from fieldtui.core.survey import Survey
from fieldtui.core.tables import Instrument
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import NotSavedError
from fieldtui.files.disk import Disk, reason
from fieldtui.files.starter import lay_out_practice, starter_folder
from fieldtui.files.toml_text import parse_toml

SCRIPT = "practice-slipway.toml"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the script; the file itself explains the fields."""

    at: str
    calls: str
    does: str
    keys: tuple[str, ...]
    expects: str
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Script:
    """A scripted prober: what is called out and keyed, step by step."""

    title: str
    route: str
    brief: dict[str, Any]
    steps: tuple[Step, ...]

    def suggested_brief(self, instrument: Instrument) -> Brief:
        """The brief as the script's crew answers it; the cautions are still to be read."""
        said = self.brief
        standard = instrument.check_standard
        return Brief(
            job=said["job"],
            crew=Crew(prober=said["prober"], recorder=said["recorder"]),
            instrument=instrument,
            next_number=said["next_number"],
            ambient_c=Decimal(said["ambient_c"]),
            standard=Resistance(Decimal(said["standard"]), standard.value.unit) if standard else None,
            cautions_read=False,
        )


class ScriptedProber:
    """Calls out whatever the script has at the point of the walk where the crew stands.

    The script is followed by the kinds of the rows that the trail grows by; rows it does not wait
    for are passed over. A recorder who leaves it is not scolded: the prober goes on with the next
    step that begins where the walk now stands.
    """

    def __init__(self, script: Script) -> None:
        self._steps = script.steps
        self._step = 0
        self._came = 0  # rows of this step that are in the trail
        self._seen: int | None = None  # rows of the trail that were looked at

    def calls(self, survey: Survey) -> str:
        """What the prober says now, and how to key it."""
        if self._seen is None:
            self._seen = survey.rows
        for kind in survey.recent[len(survey.recent) - min(survey.rows - self._seen, len(survey.recent)) :]:
            self._take(kind)
        self._seen = survey.rows
        here = survey.position.here or ""
        ahead = self._steps[self._step :]
        if ahead and ahead[0].at != here and not self._came:
            ahead = next((ahead[n:] for n, step in enumerate(ahead) if step.at == here), ahead)
        # A step that leaves no row in the trail is shown together with the one after it.
        with_rows = next((n for n, step in enumerate(ahead) if step.rows), 0)
        return "  Then: ".join(_words(step) for step in ahead[: with_rows + 1])

    def _take(self, kind: str) -> None:
        """Go on by one row, if the script waits for one of this kind."""
        step = self._step
        while step < len(self._steps) and not self._steps[step].rows:
            step += 1
        if step == len(self._steps) or self._steps[step].rows[self._came] != kind:
            return
        self._step, self._came = step, self._came + 1
        if self._came == len(self._steps[step].rows):
            self._step, self._came = step + 1, 0


def _words(step: Step) -> str:
    said = f"“{step.calls}”" if step.calls else ""
    return "  ".join(part for part in (said, f"({step.does})" if step.does else "") if part)


def load_script(disk: Disk) -> Script:
    """The script of the practice."""
    path = starter_folder(disk) / "demo" / "prober" / SCRIPT
    found = parse_toml(disk.read_file(path, 1024 * 1024), str(path)).data
    steps = tuple(
        Step(
            at=step.get("at", ""),
            calls=step.get("calls", ""),
            does=step.get("does", ""),
            keys=tuple(step["keys"]),
            expects=step.get("expects", ""),
            rows=tuple(step["rows"]),
        )
        for step in found["steps"]
    )
    return Script(title=found["title"], route=found["route"], brief=found["brief"], steps=steps)


def make_practice(disk: Disk, folder: Path | None) -> Workspace:
    """A practice workspace, in ``folder`` or in a temporary one.

    Raises:
        NotSavedError: it could not be made.
    """
    target = folder or Path(tempfile.mkdtemp(prefix="fieldtui-practice-"))
    try:
        if not disk.is_folder(target):
            disk.make_folder(target)
        lay_out_practice(disk, target)
    except OSError as error:
        raise NotSavedError(
            f"The practice workspace could not be made: {reason(error)}",
            where=str(target),
            remedy="name a folder that can be written to with --dir DIR",
        ) from error
    return Workspace(target, disk)
