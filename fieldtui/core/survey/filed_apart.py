"""Memory numbers that went to no reading: to the check standard, or to a try without a value."""

from __future__ import annotations

from fieldtui.core.survey.draft import Draft
from fieldtui.core.trail.events import AttemptFailed, Event, StandardRead


def note_apart(event: Event, draft: Draft) -> None:
    """Note the number that an event gives to something else than a reading."""
    if not isinstance(event, StandardRead | AttemptFailed) or event.run is None or event.number is None:
        return
    shown = event.reading if isinstance(event, StandardRead) else None
    draft.filed_apart = {**draft.filed_apart, (event.run, event.number): shown}
