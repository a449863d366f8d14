"""The drift watch on a live survey.

It only speaks up; what is to be done about it is the crew's choice and becomes an event.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Self

from fieldtui.core.drift.expectations import Expectation, expectations, stray_share
from fieldtui.core.drift.states import Rates
from fieldtui.core.drift.watch import Alarm, Watch, WatchedReading, fold_watch
from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.conductors import ohms_at_20
from fieldtui.core.survey.position import WalkOrder
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev

IN_STEP_SAID = "drift watch: looked at, prober and record are in step"  # the note the crew's word becomes
Readings = Mapping[str, Sequence[Resistance]]


@dataclass(frozen=True, slots=True)
class Lookout:
    """Follows the survey reading by reading. Immutable: :meth:`after` gives the next one."""

    history: Readings
    plan: tuple[Expectation, ...] = field(repr=False)
    places: Mapping[str, int] = field(repr=False)  # first entry of each point in the plan
    order: WalkOrder = field(repr=False)
    watch: Watch
    expected: Mapping[str, Expectation] = field(repr=False)  # the plan by point
    seen: int = 0  # records taken in
    changes: int = 0  # amendments and voids taken in
    settled_at: tuple[int, ...] = ()  # records at which the crew had looked and was in step

    @classmethod
    def over(cls, survey: Survey, history: Readings, settled_at: tuple[int, ...] = ()) -> Self:
        """The lookout on a survey as it stands."""
        plan, places = _plan(survey, history)
        readings = [
            WatchedReading(
                record.record, places[record.point] + _place_in_take(survey, record), _told(survey, record)
            )
            for record in survey.records.values()
            if record.is_valid
        ]
        return cls(
            history=history,
            plan=plan,
            places=places,
            order=survey.order,
            watch=fold_watch(
                plan,
                readings,
                settled_at=settled_at,
                rates=Rates(stray=stray_share(survey.route, history)),
            ),
            expected={point: plan[place] for point, place in places.items()},
            seen=len(survey.records),
            changes=survey.changes,
            settled_at=settled_at,
        )

    @property
    def alarm(self) -> Alarm | None:
        """What the watch spoke up about at the last reading."""
        return self.watch.alarm

    @property
    def standing(self) -> tuple[Alarm, ...]:
        """Alarms that nobody has answered yet, the latest last: neither moved away nor said to be none."""
        since = max(self.settled_at, default=0)
        return tuple(alarm for alarm in self.watch.alarms if alarm.record > since)

    def after(self, survey: Survey) -> Lookout:
        """The lookout once the survey has moved on.

        A changed order or an amended reading makes the past another one: it is watched anew.
        """
        if survey.order is not self.order or survey.changes != self.changes:
            return Lookout.over(survey, self.history, self.settled_at)
        watch = self.watch
        for record in survey.last_records(len(survey.records) - self.seen):
            place = self.places[record.point] + _place_in_take(survey, record)
            watch = watch.after(place, _told(survey, record), record.record)
        return replace(self, watch=watch, seen=len(survey.records))

    def settled(self) -> Lookout:
        """The crew has looked and says that prober and record are in step."""
        return replace(self, watch=self.watch.settled(), settled_at=(*self.settled_at, self.seen))


def settled_records(events: Iterable[ev.Event]) -> tuple[int, ...]:
    """The records at which the crew had looked and was in step, from the rows of a trail."""
    last, settled = 0, []
    for event in events:
        if isinstance(event, ev.ReadingTaken):
            last = event.record
        elif isinstance(event, ev.Noted) and event.note == IN_STEP_SAID:
            settled.append(last)
    return tuple(settled)


def _plan(survey: Survey, history: Readings) -> tuple[tuple[Expectation, ...], dict[str, int]]:
    """What each reading of the walk should give, in walking order; several for a point read repeatedly."""
    points = tuple(survey.points[point] for point in survey.order.ids)
    floors: dict[str, Decimal] = {
        point.id: ohms_at_20(point.conductor) for point in points if point.conductor is not None
    }
    plan: list[Expectation] = []
    places: dict[str, int] = {}
    for point, expected in zip(
        points, expectations(replace(survey.route, points=points), history, floors), strict=True
    ):
        places[point.id] = len(plan)
        plan += [expected] * point.repeats
    return tuple(plan), places


def _told(survey: Survey, record: Record) -> Decimal | None:
    """What a reading tells of where the probes are on the walk, ohm.

    Nothing after a rework, for it changed the bond; nor at a point that was named to the prober.
    """
    is_out_of_turn = survey.out_of_turn.get(record.record) == record.point
    return None if record.retest or is_out_of_turn else record.reading.ohms


def _place_in_take(survey: Survey, record: Record) -> int:
    """How many readings of the same take came before; never more than the plan has entries."""
    numbers = survey.standings[record.point].records
    before = (survey.records[number] for number in numbers if number < record.record)
    taken = sum(other.take == record.take and other.is_valid for other in before)
    return min(taken, survey.points[record.point].repeats - 1)
