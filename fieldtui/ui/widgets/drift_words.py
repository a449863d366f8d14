"""What an explanation of differing numbers would change, in words."""

from __future__ import annotations

from fieldtui.core.drift.explanations import Change, Kind
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey


def percent(probability: float) -> str:
    """``62 %``; never 0 or 100, for nothing here is sure."""
    if probability < 0.01:
        return "<1 %"
    return ">99 %" if probability > 0.99 else f"{probability:.0%}".replace("%", " %")


def change_in_words(kind: Kind, change: Change, survey: Survey) -> str:
    """Which records move by how much, which lose their number, and what the next reading gets."""
    if kind is Kind.MISHEARD:
        return "no number changes; the prober reads it out again"
    if change.takes_back:
        return change.effect
    if not change.settles:
        return "nothing yet: read the memory out and reconcile"
    moved = _moved(change, survey)
    parts = []
    if change.loses:
        parts.append(f"{_records(change.loses)} {_has(change.loses, 'loses its', 'lose their')} number")
    if not moved:
        parts.append("no number moves")
    elif kind is Kind.RESTARTED:
        become = _range([(record.number or 0) + change.by for record in moved])
        whose = _records([record.record for record in moved])
        parts.append(f"{whose} {_has(moved, 'becomes', 'become')} {become} of a new run")
    else:
        numbers = [record.number or 0 for record in moved]
        become = _range([number + change.by for number in numbers])
        parts.append(
            f"{_records([record.record for record in moved])} {_has(moved, 'moves', 'move')} by "
            f"{change.by:+d}: {_range(numbers)} {_has(moved, 'becomes', 'become')} {become}"
        )
    return "; ".join([*parts, f"next number {change.next_number}"])


def _moved(change: Change, survey: Survey) -> list[Record]:
    """The readings whose own number would be another one."""
    run = survey.run
    if change.moves_from is None or run is None:
        return []
    return [
        record
        for record in survey.records.values()
        if record.record >= change.moves_from
        and record.run == run.run
        and record.number is not None
        and record.record not in change.loses
    ]


def _records(numbers: list[int] | tuple[int, ...]) -> str:
    return f"{_has(numbers, 'record', 'records')} {_range(numbers)}"


def _range(numbers: list[int] | tuple[int, ...]) -> str:
    return str(numbers[0]) if len(numbers) == 1 else f"{numbers[0]}-{numbers[-1]}"


def _has(several: list[Record] | list[int] | tuple[int, ...], one: str, more: str) -> str:
    return one if len(several) == 1 else more
