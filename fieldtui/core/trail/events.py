"""What can happen in a survey: one frozen dataclass an event kind.

Field names are the trail's column names (``reading`` fills ``value`` and ``unit``), so that the
row codec in ``files`` needs no table of its own: a new kind of event is one dataclass here and
one branch in ``survey``. ``row`` is not a field: an event's row is its place in the trail.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.trail.crew import HandedOver as HandedOver
from fieldtui.core.trail.event import Answer as Answer
from fieldtui.core.trail.event import Event as Event
from fieldtui.core.trail.meter import CheckTime as CheckTime
from fieldtui.core.trail.meter import LeadChanged as LeadChanged
from fieldtui.core.trail.meter import MeterTaken as MeterTaken
from fieldtui.core.trail.meter import Released as Released
from fieldtui.core.trail.meter import StandardRead as StandardRead
from fieldtui.core.verdict.judging import Verdict

NOT_ACCESSIBLE = "not accessible"  # the one attempt that settles a point
STANDARD_ITEM = "check standard"  # the item of the brief that is also a check of the meter


class Agreement(Enum):
    """How a called memory number stood to the one the record expected."""

    AGREE = "agree"
    DIFFER = "differ"


# --- the session itself -------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Started(Event):
    """The session's first row. ``ref`` is the SHA-256 of ``session.toml``, 64 hex digits."""

    kind = "start"
    ref: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened(Event):
    """A program opened the session to write: after a stop, a crash, a handover."""

    kind = "open"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovered(Event):
    """A torn last row was set aside. ``ref`` is the side file's name."""

    kind = "recovered"
    ref: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockStepped(Event):
    """The wall clock jumped; ``note`` says by how much."""

    kind = "clock"


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed(Event):
    """The session takes no more events. ``reason`` says why things were left undone, if any were."""

    kind = "close"
    reason: str = ""


class Role(Enum):
    """As what somebody signs: the two are different people."""

    TECHNICIAN = "technician"
    INSPECTOR = "inspector"


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed(Event):
    """``by`` signs in the role ``ref``; ``reason`` is the stamp or licence, ``note`` the statement read."""

    kind = "sign"
    ref: Role
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reopened(Event):
    """A closed session takes events again. ``ref`` is the seal it had, which no longer is its last link."""

    kind = "reopen"
    ref: str
    reason: str


# --- the brief ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Briefed(Event):
    """One item of the brief. ``ref`` is the item's id, ``reason`` why a bad one is overridden."""

    kind = "brief"
    ref: str
    verdict: Answer
    reading: Resistance | None = None  # the check standard's
    reason: str = ""


# --- the walk -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class RunStarted(Event):
    """A memory run begins; ``number`` is the one the next reading will get."""

    kind = "run"
    run: int
    number: int
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingTaken(Event):
    """A value was called out and keyed. ``verdict`` is what was said at the time."""

    kind = "reading"
    record: int
    point: str
    reading: Resistance
    verdict: Verdict
    run: int | None = None
    number: int | None = None
    reason: str = ""  # why a doubtful value was confirmed


@dataclass(frozen=True, slots=True, kw_only=True)
class AttemptFailed(Event):
    """A try without a value. ``number`` is set where the meter filed something all the same."""

    kind = "attempt"
    point: str
    reason: str
    run: int | None = None
    number: int | None = None

    @property
    def is_settling(self) -> bool:
        """True where it settles its point: the place cannot be reached."""
        return self.reason.strip().casefold().startswith((NOT_ACCESSIBLE, "inaccessible"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Skipped(Event):
    """The point is left for later."""

    kind = "skip"
    point: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RedoAsked(Event):
    """The point is taken again; what was read before stays. ``ref`` is the record meant, if one."""

    kind = "redo"
    point: str
    reason: str
    ref: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Voided(Event):
    """A reading is struck out. ``ref`` is its record number."""

    kind = "void"
    ref: int
    point: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PointInserted(Event):
    """An unplanned point, probed now. ``ref`` is the point it comes before, empty at the end."""

    kind = "insert"
    point: str
    ref: str
    reason: str
    definition: str  # see inserted.py; stands in the note column


@dataclass(frozen=True, slots=True, kw_only=True)
class Jumped(Event):
    """The walk goes to ``point`` and afterwards back to where it was."""

    kind = "jump"
    point: str
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionReversed(Event):
    """The rest of the section is walked from its far end. ``point`` is where the walk stood."""

    kind = "reverse"
    point: str
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paused(Event):
    """The crew stopped for a while."""

    kind = "pause"
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proceeded(Event):
    """The crew went on after a pause."""

    kind = "proceed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted(Event):
    """A remark, on ``point`` or on the survey as a whole."""

    kind = "note"
    point: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberChecked(Event):
    """The prober read out the meter's last memory number. ``ref`` is what the record expected."""

    kind = "number"
    run: int
    number: int
    verdict: Agreement
    ref: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reconciled(Event):
    """A memory run was held against the meter's memory list ``ref``; ``note`` counts what was found.

    ``reason`` is the crew's own for taking it over.
    """

    kind = "reconcile"
    run: int
    ref: str
    reason: str = ""


# --- corrections: the original always stays ----------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Renumbered(Event):
    """The meter's memory is out of step. ``number`` is the one the next reading will get.

    ``ref`` is the first record whose own number moves by as much as the next number does;
    None where only the coming ones do. Where ``run`` is an earlier one, of the same meter, that one goes
    on: its memory was not cleared, and what moves belongs to it.
    """

    kind = "renumber"
    run: int
    number: int
    reason: str
    ref: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Unfiled(Event):
    """The meter did not keep record ``ref``: the reading stays, its memory number goes."""

    kind = "unfiled"
    ref: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Erased(Event):
    """The meter's entry of record ``ref`` was deleted on the meter; the reading stays on the record."""

    kind = "erase"
    ref: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Amended(Event):
    """Record ``ref`` is corrected; only the fields that are set change."""

    kind = "amend"
    ref: int
    reason: str
    point: str | None = None
    run: int | None = None
    number: int | None = None
    reading: Resistance | None = None
    verdict: Verdict | None = None  # said of the corrected value


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsShifted(Event):
    """Prober and record had parted: records ``ref`` to ``record`` belong further on or further back.

    ``point`` is where record ``ref`` belongs; the others move by as many places of the walk.
    """

    kind = "shift"
    ref: int
    record: int
    point: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionMirrored(Event):
    """The prober had walked a section from its far end: records ``ref`` to ``record`` change ends.

    ``point`` is where record ``ref`` belongs. What is left of the section is walked that way too.
    """

    kind = "mirror"
    ref: int
    record: int
    point: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscrepancyRaised(Event):
    """A failed point's paper: ``ref`` is its reference."""

    kind = "discrepancy"
    point: str
    ref: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reworked(Event):
    """The bond was repaired; readings from here on are retests. ``ref`` is the discrepancy."""

    kind = "rework"
    point: str
    reason: str
    ref: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waived(Event):
    """The point is let go on somebody's authority. ``ref`` is the paper, ``reason`` who and why."""

    kind = "waive"
    point: str
    reason: str
    ref: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored(Event):
    """The finish or panel of ``point``, opened for its readings, is as it was."""

    kind = "restored"
    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PathPapered(Event):
    """The series path ``ref`` fails or has no sum; ``reason`` is its paper, a discrepancy or a waiver."""

    kind = "path"
    ref: str
    reason: str


KINDS: dict[str, type[Event]] = {
    cls.kind: cls
    for cls in (
        Started,
        Opened,
        Recovered,
        ClockStepped,
        Closed,
        Briefed,
        RunStarted,
        ReadingTaken,
        AttemptFailed,
        Skipped,
        RedoAsked,
        Voided,
        PointInserted,
        Jumped,
        SectionReversed,
        Paused,
        Proceeded,
        Noted,
        NumberChecked,
        Reconciled,
        Renumbered,
        Unfiled,
        Erased,
        Amended,
        ReadingsShifted,
        SectionMirrored,
        DiscrepancyRaised,
        Reworked,
        Waived,
        StandardRead,
        LeadChanged,
        Released,
        Signed,
        Reopened,
        Restored,
        HandedOver,
        MeterTaken,
        PathPapered,
    )
}
