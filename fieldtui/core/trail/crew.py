"""What can happen to the crew: somebody else records, or probes, from here on."""

from __future__ import annotations

from dataclasses import dataclass

from fieldtui.core.trail.event import Event


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedOver(Event):
    """``by`` records from this row on, and ``ref`` probes; either may be who did before."""

    kind = "handover"
    ref: str
    reason: str
