"""What the charts show, before anything is placed: the page's charts and those of the screen share it."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from fieldtui.core.account.basis import is_met, judged_of, share_of
from fieldtui.core.account.bracket import is_in_doubt, points_in_doubt, readings_in_doubt
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Result, Standing, limit_for
from fieldtui.core.survey.survey import Survey
from fieldtui.report.charts.scale import Shape, shape_of
from fieldtui.report.unproven import ALL_PROVEN, UNPROVEN, Unproven

TENTHS = 15  # bars of the histogram, a tenth of the limit each; the last takes everything above


@dataclass(frozen=True, slots=True)
class Held:
    """A value as it was held against its limit; ``ohms`` is that at 20 C where the point is judged so."""

    result: Result
    ohms: Decimal
    text: str  # the value in words, with the one judged where it is another
    is_in_doubt: bool = False  # a failed check of the meter reaches it
    is_unproven: bool = False  # its rows are not known to be as they were written

    @property
    def shape(self) -> Shape:
        return shape_of(self.result.verdict, is_in_doubt=self.is_in_doubt, is_unproven=self.is_unproven)

    @property
    def verdict_words(self) -> str:
        """``pass``, ``pass IN DOUBT`` or ``pass UNPROVEN``."""
        return f"{self.result.verdict.value}{mark_words(self.is_in_doubt, self.is_unproven)}"


@dataclass(frozen=True, slots=True)
class Slot:
    """One point of the route: its limit, and what was found and left there."""

    point: str
    section: str
    state: State
    limit: Limit
    found: Held | None  # only where it was read again afterwards
    left: Held | None
    is_unproven: bool = False  # what is told of the point, also that it has no value

    @property
    def shape(self) -> Shape:
        """Of its value, or of there being none."""
        return self.left.shape if self.left is not None else shape_of(None, is_unproven=self.is_unproven)

    @property
    def bounds(self) -> tuple[Decimal, ...]:
        """The limits in ohm, the upper one first; none where nothing is judged."""
        if not self.limit.judges:
            return ()
        return tuple(each.ohms for each in (self.limit.maximum, self.limit.minimum) if each is not None)

    @property
    def values(self) -> tuple[Decimal, ...]:
        """Whatever a scale has to hold, ohm."""
        held = [each.ohms for each in (self.found, self.left) if each is not None]
        return (*held, *self.bounds)


def mark_words(is_in_doubt: bool, is_unproven: bool) -> str:
    """What follows a verdict that cannot be relied on, beginning with a blank; empty for others."""
    return (f" {UNPROVEN}" if is_unproven else "") + (" IN DOUBT" if is_in_doubt else "")


def slots_of(survey: Survey, ids: Iterable[str], unproven: Unproven = ALL_PROVEN) -> Iterator[Slot]:
    """The points ``ids`` in that order."""
    celsius, doubts = survey.route.celsius, {doubt.record for doubt in readings_in_doubt(survey)}
    for point_id in ids:
        point, standing = survey.points[point_id], survey.standings[point_id]
        found, left = standing.as_found, standing.as_left
        is_again = found is not None and left is not None and found.records != left.records
        is_unproven = point_id in unproven.points
        held = _held(point, left, celsius, doubts, unproven.records)
        yield Slot(
            point=point_id,
            section=point.section,
            state=standing.state,
            limit=limit_of(point, standing),
            found=_held(point, found, celsius, doubts, unproven.records) if is_again else None,
            left=replace(held, is_unproven=True) if held is not None and is_unproven else held,
            is_unproven=is_unproven,
        )


def _held(
    point: Point,
    result: Result | None,
    celsius: Decimal | None,
    doubts: Container[int],
    unproven: Container[int],
) -> Held | None:
    if result is None:
        return None
    judged = judged_of(point, result, celsius)
    text = f"{result.value}, at 20 °C {judged.value}" if judged.is_corrected else str(result.value)
    is_unproven = any(record.record in unproven for record in result.records)
    return Held(result, judged.value.ohms, text, is_in_doubt(result, doubts), is_unproven)


def limit_of(point: Point, standing: Standing) -> Limit:
    """The limit that judged the last value, or would judge the next."""
    left = standing.as_left
    return limit_for(point, retest=left.last.retest if left is not None else standing.retest)


# --- margin to the limit -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tenth:
    """The points that use this tenth of their limit, in walking order."""

    text: str
    passed: tuple[str, ...]
    failed: tuple[str, ...]
    doubted: tuple[str, ...] = ()  # those of either that are in doubt for the meter
    unproven: tuple[str, ...] = ()  # those of either that the trail does not prove

    @property
    def count(self) -> int:
        return len(self.passed) + len(self.failed)


def tenths_of(survey: Survey, unproven: Unproven = ALL_PROVEN) -> Sequence[Tenth]:
    """Every judged point by the tenth of its limit that its value uses; none where none was judged."""
    passed: list[list[str]] = [[] for _ in range(TENTHS)]
    failed: list[list[str]] = [[] for _ in range(TENTHS)]
    for point_id in survey.order.ids:
        point, left = survey.points[point_id], survey.standings[point_id].as_left
        if left is None:
            continue
        share = share_of(point, left, survey.route.celsius)
        if share is not None:
            beyond = share == 1 and not is_met(point, left, survey.route.celsius)
            (failed if left.verdict.is_failed else passed)[_tenth(share) + beyond].append(point_id)
    if not any(passed) and not any(failed):
        return ()
    doubted = points_in_doubt(survey)
    return [
        Tenth(
            _tenth_words(n),
            tuple(passed[n]),
            tuple(failed[n]),
            tuple(point for point in (*failed[n], *passed[n]) if point in doubted),
            tuple(point for point in (*failed[n], *passed[n]) if point in unproven.points),
        )
        for n in range(TENTHS)
    ]


def _tenth(share: Decimal) -> int:
    """The bar of a share; one that stands on a line belongs to the bar below it, where it meets its limit."""
    tenths = min(share * 10, Decimal(TENTHS))
    whole = int(tenths)
    return max(whole - (tenths == whole), 0)


def _tenth_words(tenth: int) -> str:
    return f"above {tenth * 10} %" if tenth == TENTHS - 1 else f"{tenth * 10} to {tenth * 10 + 10} %"


# --- left against right ------------------------------------------------------------------------

Side = tuple[str, Result]


def pairs_of(survey: Survey) -> Iterator[tuple[Side, Side]]:
    """Points with a symmetric partner, both read, each pair once, in walking order."""
    seen: set[frozenset[str]] = set()
    for point_id in survey.order.ids:
        other = survey.points[point_id].pair
        both = frozenset((point_id, other))
        if other not in survey.standings or other == point_id or both in seen:
            continue
        seen.add(both)
        first, second = survey.standings[point_id].as_left, survey.standings[other].as_left
        if first is not None and second is not None:
            yield (point_id, first), (other, second)


def ratio_words(first: Decimal, second: Decimal) -> str:
    """The ratio of the second to the first, two decimals."""
    return f"{second / first:.2f}" if first else "none to zero"
