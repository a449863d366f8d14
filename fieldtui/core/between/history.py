"""What one survey says of each point, in the form in which surveys are held against each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType

from fieldtui.core.account.basis import judged_of
from fieldtui.core.account.bracket import points_in_doubt, whole_takes
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.meters import meter_of
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Result, Standing, limit_for
from fieldtui.core.survey.survey import Survey
from fieldtui.core.verdict.judging import Verdict

NONE_STATED: Mapping[str, Accuracy] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """The value a survey left at a point."""

    value: Resistance  # digits as keyed
    at_20: Resistance | None = None  # what was held against the limit, where that is the value at 20 C
    verdict: Verdict
    when: datetime  # UTC, of the take's last record
    step: Decimal  # ohm, one step of the display
    standard: Decimal | None = None  # standard uncertainty, ohm; None where the meter states no accuracy
    is_retest: bool = False  # taken after a rework
    as_found: tuple[Resistance, Verdict] | None = None  # where the verdict was another one at first
    is_in_doubt: bool = False  # a failed check of the meter reaches it, and nobody let it stand
    has_failed: bool = False  # in this survey a take that holds failed, be it that a later one passed

    @property
    def judged(self) -> Resistance:
        """The value that the verdict is about."""
        return self.at_20 or self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One point as one survey saw it."""

    point: str
    title: str
    a: str
    b: str
    unit: Unit
    state: State
    limit: Limit  # the one that judged the reading, or would have
    planned: Limit  # the one that judges a first reading
    reason: str = ""  # of the last skip, attempt or waiver
    reading: Reading | None = None
    is_asked_again: bool = False  # the reading was to be replaced, and no complete take has
    is_unproven: bool = False  # rows behind a break in the trail say more of it, and prove nothing
    behind_break: Reading | None = None  # the value that stands in those rows


def seen_points(survey: Survey, accuracies: Mapping[str, Accuracy] = NONE_STATED) -> Iterator[Seen]:
    """Every point of a survey, in walking order, each with the accuracy of the meter it was taken with.

    ``accuracies`` are such as go before what the meters state, by meter id.
    """
    doubted = points_in_doubt(survey)
    for point in survey.order.ids:
        standing = survey.standings[point]
        accuracy = _accuracy_of(survey, standing.as_left, accuracies)
        seen = _seen(survey.points[point], standing, accuracy, survey.route.celsius)
        if seen.reading is not None:
            has_failed = any(taken[-1].verdict.is_failed for taken in whole_takes(survey, point))
            reading = replace(seen.reading, is_in_doubt=point in doubted, has_failed=has_failed)
            seen = replace(seen, reading=reading)
        yield seen


def stated_accuracy(instrument: Instrument, accuracies: Mapping[str, Accuracy]) -> Accuracy | None:
    """The accuracy given for a meter, else the one that the session states for it."""
    return accuracies.get(instrument.id, instrument.accuracy)


def _accuracy_of(survey: Survey, left: Result | None, accuracies: Mapping[str, Accuracy]) -> Accuracy | None:
    """The accuracy of the meter that a result was taken with; of several the least good one."""
    if left is None:
        return None
    stated = [stated_accuracy(meter_of(survey.meters, each), accuracies) for each in left.records]
    known = [each for each in stated if each is not None]
    if len(known) < len(stated):
        return None
    return max(known, key=lambda each: each.budget(left.value).standard)


def _seen(point: Point, standing: Standing, accuracy: Accuracy | None, celsius: Decimal | None) -> Seen:
    left = standing.as_left
    reading = None
    if left is not None:
        reading = reading_of(left, standing.as_found, accuracy, value_at_20(point, left, celsius))
    seen = seen_at(
        point,
        standing.state,
        reading,
        retest=left.last.retest if left is not None else standing.retest,
    )
    return replace(seen, reason=standing.reason, is_asked_again=standing.asked_again)


def seen_at(point: Point, state: State, reading: Reading | None, *, retest: bool = False) -> Seen:
    """A point as a survey left it; ``retest``: after a rework, so that the point's retest limit judges it."""
    return Seen(
        point=point.id,
        title=point.title,
        a=point.a,
        b=point.b,
        unit=point.unit,
        state=state,
        limit=limit_for(point, retest=retest),
        planned=point.limit,
        reading=reading,
    )


def value_at_20(point: Point, result: Result, celsius: Decimal | None) -> Resistance | None:
    """The value of ``result`` at 20 C, where it was judged so; ``celsius`` is what it was measured at."""
    judged = judged_of(point, result, celsius)
    return judged.value if judged.is_corrected else None


def reading_of(
    left: Result, found: Result | None, accuracy: Accuracy | None, at_20: Resistance | None = None
) -> Reading:
    """What a survey left at a point, ``found`` being its first take; ``accuracy`` is the meter's."""
    # A mean carries more digits than the display ever showed: the step is that of its readings.
    coarsest = max((record.reading for record in left.records), key=lambda reading: reading.resolution)
    step = coarsest.resolution
    standard = None
    if accuracy is not None:
        shown = accuracy.resolution or Resistance(step, Unit.OHM)
        step = shown.ohms
        standard = replace(accuracy, resolution=shown).budget(left.value).standard
    return Reading(
        value=left.value,
        at_20=at_20,
        verdict=left.verdict,
        when=left.last.time,
        step=step,
        standard=standard,
        is_retest=left.last.retest,
        as_found=(found.value, found.verdict) if found and found.verdict is not left.verdict else None,
    )
