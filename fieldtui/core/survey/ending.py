"""How a session ends: finishes restored, signatures, the close, and what was opened again after it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fieldtui.core.trail import events as ev


@dataclass(frozen=True, slots=True)
class Signature:
    """Somebody signed in ``row``."""

    row: int
    event: ev.Signed


@dataclass(frozen=True, slots=True)
class Reopening:
    """What was closed in ``closed_row`` was opened again in ``row``."""

    row: int
    closed_row: int
    event: ev.Reopened


@dataclass(frozen=True, slots=True)
class Ending:
    """What the rows so far say of the session's end."""

    restored: Mapping[str, int] = field(default_factory=dict)  # by point, row in which it was ticked off
    path_papers: Mapping[str, str] = field(default_factory=dict)  # by path, the last paper of it
    signatures: tuple[Signature, ...] = ()
    closed_row: int = 0  # of the last close, 0 for none
    close_reason: str = ""  # why it was closed with things left undone
    reopenings: tuple[Reopening, ...] = ()

    def signature(self, role: ev.Role) -> Signature | None:
        """The last signature in a role."""
        return next((each for each in reversed(self.signatures) if each.event.ref is role), None)


# What may follow a signature without taking anything from it: the record stays as it was signed.
COVERED = frozenset(
    kind.kind for kind in (ev.Signed, ev.Closed, ev.Opened, ev.ClockStepped, ev.Recovered, ev.HandedOver)
)
