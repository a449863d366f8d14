"""What must hold of a survey after every deed, reckoned here in another way than the program does it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.watching import Lookout

_AT_OPENING = {"rows", "recent", "last_time", "is_disturbed", "check_due"}  # a row says that it was opened


@dataclass(frozen=True, slots=True)
class Keyed:
    """A reading in its first form: as it was keyed, and where."""

    reading: Resistance
    point: str
    run: int | None
    number: int | None

    @classmethod
    def of(cls, record: Record) -> Keyed:
        return cls(record.reading, record.point, record.run, record.number)


def audit(survey: Survey, keyed: Mapping[int, Keyed]) -> Iterator[str]:
    """Whatever is wrong with ``survey``; ``keyed`` has the first form of each record."""
    yield from (problem.what for problem in survey.problems)
    if list(survey.records) != list(keyed) or list(keyed) != list(range(1, len(keyed) + 1)):
        yield "the records are not 1, 2, 3 … as they were keyed"
        return
    takes: dict[tuple[str, int], list[Record]] = {}
    for number, record in survey.records.items():
        if Keyed.of(record.original or record) != keyed[number]:
            yield f"the first form of record {number} is not what was keyed"
        if record.is_valid:
            takes.setdefault((record.point, record.take), []).append(record)
            yield from _verdict(survey, record, takes[record.point, record.take])
    for point in survey.points:
        whole = [
            tuple(taken)
            for (at, _), taken in takes.items()
            if at == point and len(taken) >= survey.points[point].repeats
        ]
        yield from _left_at(survey, point, max(whole, key=lambda taken: taken[-1].row, default=()))


def _verdict(survey: Survey, record: Record, taken: Sequence[Record]) -> Iterator[str]:
    point = survey.points[record.point]
    values = sorted(each.reading.ohms for each in taken)
    middle, is_odd = divmod(len(values), 2)
    median = values[middle] if is_odd else (values[middle - 1] + values[middle]) / 2
    value = values[-1] if point.rule == "max" else median
    is_retest = 0 < survey.standings[record.point].reworked < record.row
    limit = point.retest if is_retest and point.retest is not None else point.limit
    highest = limit.maximum.ohms if limit.maximum is not None else Decimal("Infinity")
    verdict = Verdict.PASS if value <= highest else Verdict.FAIL
    if (record.retest, record.verdict) != (is_retest, verdict):
        yield f"record {record.record}, {record.reading}, is {record.verdict.value}, not {verdict.value}"


def _left_at(survey: Survey, point: str, left: Sequence[Record]) -> Iterator[str]:
    standing = survey.standings[point]
    if tuple(left) != (standing.as_left.records if standing.as_left is not None else ()):
        yield f"{point} is not left at its last whole take"
    elif left and standing.mark is None:
        is_asked = bool(standing.asked) and standing.asked[-1] > max(left[-1].row, standing.kept)
        good = State.OPEN if is_asked else State.PASSED
        state = State.FAILED if left[-1].verdict is Verdict.FAIL else good
        if standing.state is not state:
            yield f"{point} is {standing.state.value}, not {state.value}"


def audit_resumed(before: Survey, watched: Lookout, after: Survey, now: Lookout) -> Iterator[str]:
    """How a survey taken up again differs from the one that was left; its drift watch, too."""
    for each in fields(Survey):
        if each.name not in _AT_OPENING and getattr(before, each.name) != getattr(after, each.name):
            yield f"the survey taken up again differs in {each.name}"
    if now.standing != watched.standing:
        yield "the watch taken up again has other alarms"
    if now.expected != watched.expected:
        yield "the watch taken up again expects other values"
    rows = zip(watched.watch.belief, now.watch.belief, strict=True)
    if any(abs(was - now) > 1e-9 for one, other in rows for was, now in zip(one, other, strict=True)):
        yield "the watch taken up again believes otherwise"
