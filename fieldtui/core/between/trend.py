"""How a point moves from survey to survey, and when it would reach its limit, if that can be said.

A date is said only where the data carry it: at least four surveys, a slope that is significantly
away from zero, and a date no further ahead of the last survey than twice the time surveyed. The line
never scatters less than the readings are uncertain, so that values that fall on a line by rounding
promise nothing. Sources: NIST/SEMATECH e-Handbook 4.5.1.2 (prediction), GUM 4.3.7 (the display's step).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import Enum

from fieldtui.core.between.history import Reading, Seen
from fieldtui.core.between.line import Line, MedianLine, fit_line, fit_median_line
from fieldtui.core.between.student import student_quantile
from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.verdict.judging import Verdict, judge_ohms

LEAST_SURVEYS = 4
CONFIDENCE = 0.95  # two-sided, of every interval and of the test of the slope
FURTHEST = 2  # times the time surveyed that a date may lie ahead of the last survey

_DAY = timedelta(days=1)
_LAST_DATE = datetime.max.replace(tzinfo=UTC)
_HALVINGS = 60


class Withheld(Enum):
    """Why no date is said. The value is the reason for a person."""

    FEW = f"fewer than {LEAST_SURVEYS} surveys"
    SAME_TIME = "every survey was taken at the same time"
    NO_LIMIT = "there is no limit to reach"
    REACHED = "the limit is reached already, by the last reading or by the line"
    FLAT = "the slope cannot be told from zero"
    DISAGREE = "line and median of slopes disagree: single surveys make the slope"
    AWAY = "the value moves away from the limit"
    FAR = f"it would lie further ahead than {FURTHEST} times the time surveyed"


@dataclass(frozen=True, slots=True)
class Sample:
    """One survey's reading of a point."""

    session: str
    seen: Seen
    reading: Reading


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with the ends of its two-sided interval at :data:`CONFIDENCE`."""

    value: float
    low: float
    high: float

    @property
    def is_off_zero(self) -> bool:
        return self.low > 0 or self.high < 0


@dataclass(frozen=True, slots=True)
class Band:
    """A line and the interval about it in which one new reading is expected; days and ohm."""

    line: Line
    scatter: float  # standard deviation of a reading about the line, ohm
    quantile: float  # of Student's t, for CONFIDENCE and the line's degrees of freedom

    @property
    def slope(self) -> Interval:
        """Ohm a day."""
        return _about(self.line.slope, self.quantile * self.line.slope_sd(self.scatter))

    def predict(self, day: float) -> Interval:
        """One new reading on a day, counted from the first sample; ohm."""
        return _about(self.line.at(day), self.quantile * self.line.prediction_sd(day, self.scatter))


@dataclass(frozen=True, slots=True)
class Forecast:
    """When a limit would be reached if nothing changes."""

    bound: Resistance
    reached: datetime  # the line meets the limit
    earliest: datetime  # from here on one reading may be past it, by the prediction interval


@dataclass(frozen=True, slots=True)
class Trend:
    """One point over its surveys since the last rework: a repaired bond is another bond."""

    point: str
    samples: tuple[Sample, ...]  # oldest first, at least one
    left_out: int  # samples from before the last rework
    line: Line | None  # x in days since the first sample, y in ohm; None without two times
    median_line: MedianLine | None
    band: Band | None = None  # from LEAST_SURVEYS samples on
    forecast: Forecast | None = None
    withheld: Withheld | None = None  # why there is no forecast

    @property
    def first(self) -> Sample:
        return self.samples[0]

    @property
    def last(self) -> Sample:
        return self.samples[-1]

    @property
    def span_days(self) -> float:
        return _days(self.first, self.last)

    def next_survey(self) -> tuple[datetime, Interval] | None:
        """One mean interval after the last survey: when, and what one reading would be then."""
        if self.band is None:
            return None
        day = self.span_days * (1 + 1 / (len(self.samples) - 1))
        date = _date(self.first, day)
        return (date, self.band.predict(day)) if date is not None else None


def find_trends(surveys: Iterable[tuple[str, Iterable[Seen]]]) -> list[Trend]:
    """The trend of every point that was read, from (session id, its points), in the order met."""
    samples: dict[str, list[Sample]] = {}
    for session, points in surveys:
        for seen in points:
            if seen.reading is not None:
                samples.setdefault(seen.point, []).append(Sample(session, seen, seen.reading))
    return [find_trend(each) for each in samples.values()]


def find_trend(samples: Sequence[Sample]) -> Trend:
    """The trend of one point from its samples, at least one, in any order."""
    ordered = sorted(samples, key=lambda sample: sample.reading.when)
    start = max((index for index, sample in enumerate(ordered) if sample.reading.is_retest), default=0)
    used = tuple(ordered[start:])
    point = used[0].seen.point
    days = [_days(used[0], sample) for sample in used]
    ohms = [float(sample.reading.value.ohms) for sample in used]
    line, median_line = fit_line(days, ohms), fit_median_line(days, ohms)
    if len(used) < LEAST_SURVEYS:
        return Trend(point, used, start, line, median_line, withheld=Withheld.FEW)
    if line is None or median_line is None:
        return Trend(point, used, start, line, median_line, withheld=Withheld.SAME_TIME)
    quantile = student_quantile((1 + CONFIDENCE) / 2, line.count - 2)
    band = Band(line, max(line.residual_sd, _least_scatter(used)), quantile)
    found = _forecast(used, band, median_line)
    if isinstance(found, Withheld):
        return Trend(point, used, start, line, median_line, band, withheld=found)
    return Trend(point, used, start, line, median_line, band, forecast=found)


def _forecast(samples: Sequence[Sample], band: Band, median_line: MedianLine) -> Forecast | Withheld:
    first, last = samples[0], samples[-1]
    limit = last.seen.planned
    verdict = judge_ohms(limit, last.reading.value.ohms)
    slope = band.line.slope
    bound = limit.maximum if slope > 0 else limit.minimum
    if verdict is Verdict.NOTED:
        return Withheld.NO_LIMIT
    if verdict.is_failed:
        return Withheld.REACHED
    if not band.slope.is_off_zero:
        return Withheld.FLAT
    if slope * median_line.slope <= 0:
        return Withheld.DISAGREE
    if bound is None:
        return Withheld.AWAY
    span = _days(first, last)
    meets = (float(bound.ohms) - band.line.intercept) / slope
    if meets <= span:
        return Withheld.REACHED
    reached, earliest = _date(first, meets), _date(first, _first_past(band, bound, span, meets))
    if meets - span > FURTHEST * span or reached is None or earliest is None:
        return Withheld.FAR
    return Forecast(bound, reached, earliest)


def _first_past(band: Band, bound: Resistance, after: float, before: float) -> float:
    """The first day from ``after`` on that the interval's edge is past the bound; it is at ``before``."""
    ohms = float(bound.ohms)

    def is_past(day: float) -> bool:
        expected = band.predict(day)
        return expected.high >= ohms if band.line.slope > 0 else expected.low <= ohms

    if is_past(after):
        return after
    for _ in range(_HALVINGS):
        middle = (after + before) / 2
        after, before = (after, middle) if is_past(middle) else (middle, before)
    return before


def _least_scatter(samples: Sequence[Sample]) -> float:
    """Root mean square of the readings' standard uncertainties, ohm: a step's where nothing is stated."""
    squares = [
        float(each.reading.standard) ** 2
        if each.reading.standard is not None
        else float(each.reading.step) ** 2 / 12  # rectangular over one step
        for each in samples
    ]
    return math.sqrt(math.fsum(squares) / len(squares))


def _about(value: float, half: float) -> Interval:
    return Interval(value, value - half, value + half)


def _days(first: Sample, sample: Sample) -> float:
    return (sample.reading.when - first.reading.when) / _DAY


def _date(first: Sample, day: float) -> datetime | None:
    """The moment ``day`` days after the first sample; None beyond what a calendar holds."""
    if day >= (_LAST_DATE - first.reading.when) / _DAY:
        return None
    return first.reading.when + timedelta(days=day)
