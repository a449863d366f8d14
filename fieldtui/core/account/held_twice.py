"""Memory numbers that several readings hold: the meter filed one of them, whatever the others say."""

from __future__ import annotations

from dataclasses import dataclass

from fieldtui.core.survey.survey import Survey


@dataclass(frozen=True, slots=True)
class HeldTwice:
    """One number of a memory run, and the valid readings that hold it, in the order taken."""

    run: int
    number: int
    records: tuple[int, ...]

    @property
    def words(self) -> str:
        """``number 9 is held by records 24 and 25: which was not filed?``"""
        *others, last = map(str, self.records)
        which = "which was" if len(self.records) == 2 else "which were"
        return f"number {self.number} is held by records {', '.join(others)} and {last}: {which} not filed?"


def held_twice(survey: Survey) -> tuple[HeldTwice, ...]:
    """Every such number, in the order in which its first reading was taken; worked out once a state."""
    found: tuple[HeldTwice, ...] | None = survey.worked_out.get("held twice")
    if found is None:
        found = survey.worked_out["held twice"] = tuple(_find(survey))
    return found


def _find(survey: Survey) -> list[HeldTwice]:
    held: dict[tuple[int, int], list[int]] = {}
    for record in survey.records.values():
        if record.void is None and record.number is not None and record.run is not None:
            held.setdefault((record.run, record.number), []).append(record.record)
    return [HeldTwice(*key, tuple(records)) for key, records in held.items() if len(records) > 1]
