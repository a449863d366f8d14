"""Values worth a second look while the prober still stands there.

Each reading is held against what is known of its point, the best knowledge first: today's other
readings of it, the last survey, its symmetric partner, its family, its expected band, points with
the same limit; a band that the route states is taken at its word. Else everything is in natural logarithms
of ohm, for contact resistances vary by factors; floats only raise a question here and never become a digit.

Sources: modified z score 0.6745 (x - median) / MAD, outlier above 3.5 (Iglewicz and Hoaglin, How to
Detect and Handle Outliers, 1993); kinds of keying slip as in :mod:`fieldtui.core.slips`. The
spreads and the share of each slip are common practice, no source.
"""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from fieldtui.core.drift.expectations import Expectation, Source
from fieldtui.core.measurement.ohms import EXACT, Resistance, Unit
from fieldtui.core.plan.conductors import ALPHA_20, ohms_at_20
from fieldtui.core.plan.route import Conductor, Expected, Point
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.slips import Slip, candidates
from fieldtui.core.survey.survey import Survey

OUTLIER_Z = 3.5  # robust spreads from a family's median
FAR = 4.0  # spreads from anything else that is expected; fewer are no surprise on a long route
LEAST_FACTOR = math.log(3)  # nearer than this nothing is far, however small the spread
RARE = 0.002  # chance below which the value of the reading before does not come again by itself

_RECENT = 200  # readings looked back on
_FAMILY_TELLS = 3  # members of a family, from which it says more than the limit
_TENFOLD = math.log(10)
_TAIL = 2.8  # spreads that leave fewer than one sound reading in a hundred outside
_ODD_TAIL = 2.0
_STEPS_KNOWN = 5  # readings of other points, from which the number of decimals is known
_CAUTION = 0.9  # how far past the middle between sound and tenfold, in spreads, a slip is believed
_AGREES = math.log(1.5)  # between two readings of one point on one day
_TAKE_SPREAD, _PAIR_SPREAD, _FAMILY_SPREAD, _LIMIT_SPREAD = 0.15, 0.4, 0.4, 0.5
_SPREAD_WEIGHT = 6.0  # readings that a spread known beforehand counts for
_OUTER, _OUTER_NORMAL = 0.85, 1.4395  # 85 in 100 lie within 1.44 spreads of a normal law
_OUTER_TELLS = 20  # values, from which three strays do not reach the 85th in a hundred
_RARE_STEP = 0.05  # share of the readings, below which a number of decimals is still an odd one
_BEYOND_WORDS = 1000  # a larger factor says nothing to anybody
_MARGIN = 0.95  # of a conductor's nominal resistance: tolerance of its cross-section
_SHARES: Mapping[Slip, float] = {
    Slip.REPLACED: 0.5,
    Slip.SWAPPED: 0.12,
    Slip.POINT_MOVED: 0.15,
    Slip.OMITTED: 0.1,
    Slip.ADDED: 0.08,
    Slip.UNIT_WRONG: 0.05,
}


class DoubtKind(Enum):
    """Why a keyed value wants a second look before it is recorded. The value is the word on screens."""

    NUMBER = "memory number"  # another number was called than the record expects
    SLIP = "keying slip"  # one slip explains it
    DISPLAY = "finer than the display"  # a digit that the meter in use cannot show
    SIGN = "same sign"  # of two voltages with the current reversed between them
    CONDUCTOR = "below the conductor"  # less than the conductor alone must have
    REPEATED = "same as before"  # equal to the reading before, where that is unlikely
    PAIR = "far from its pair"
    FAMILY = "far from its family"
    BAND = "outside its band"
    SURVEY = "far from the last survey"


@dataclass(frozen=True, slots=True)
class Doubt:
    """One reason to stop, in a sentence for the recorder; ``likely`` is the value it may have been."""

    kind: DoubtKind
    what: str
    likely: Resistance | None = None


@dataclass(frozen=True, slots=True)
class _View:
    """What one kind of knowledge expects: mean and spread of ln(ohm), and the words for it."""

    kind: DoubtKind | None  # None: too vague to call a value far; only a tenfold slip is seen
    mean: float
    spread: float
    words: str
    band: Expected | None = None  # the route's own words for what is expected

    def tell(self, reading: Resistance) -> str:
        """How ``reading`` lies to what is expected: ``13.8 mΩ is 10 times the last survey``."""
        if self.band is not None:
            return _beside_band(reading, self.band)
        return f"{reading} is {_times(math.log(reading.ohms) - self.mean)} {self.words}"


def find_doubts(
    survey: Survey,
    reading: Resistance,
    expectation: Expectation | None = None,
    *,
    point: str = "",
    expected: Mapping[str, Expectation] | None = None,
) -> tuple[Doubt, ...]:
    """What is doubtful about ``reading``, were it recorded now; most telling first.

    Args:
        survey: as it stands before the reading.
        reading: as keyed.
        expectation: what its point should read; None where nothing is planned.
        point: where it is recorded; the point being probed where left out.
        expected: the expectations of other points, by id: they tell how far today's readings lie
            from the last survey in general, and what a pair differs by.
    """
    here = survey.points[point] if point else survey.here
    if here is None:
        return ()
    found = list(_beyond_display(reading, here, survey.instrument))
    recent = _Recent.of(survey, here, expected or {})
    if reading.ohms <= 0:
        return (*found, *_zero(here))
    if any(abs(math.log(reading.ohms) - log) <= _AGREES for log in recent.earlier):
        return tuple(found)  # taken again, and read the same again
    views = list(_views(here, expectation, recent))
    is_odd = bool(recent.steps) and _step(reading) not in recent.steps
    found += _below_conductor(here, reading, survey)
    far = list(_far(reading, views, _unit_of(here), is_odd=is_odd))
    found += far or _outside_band(here, reading, expectation, recent)
    found += _repeated(reading, here, views, survey)
    return tuple({doubt.kind: doubt for doubt in found}.values())


def robust_spread(values: Sequence[float], middle: float) -> float:
    """MAD / 0.6745: the unit in which the modified z score counts (Iglewicz and Hoaglin 1993)."""
    return statistics.median(abs(each - middle) for each in values) / 0.6745


def outer_spread(values: Sequence[float], middle: float) -> float:
    """The distance that 85 in 100 values keep, over what it is for a normal law of spread 1.

    It counts three values in twenty as strays at most. The MAD looks at the nearer half alone, and
    points of one kind often have longer tails, or a few of another kind among them.
    """
    away = sorted(abs(each - middle) for each in values)
    return away[int(_OUTER * (len(away) - 1))] / _OUTER_NORMAL


# --- what is known ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Recent:
    """ln(ohm) of today's latest valid readings, as far as they tell of one point."""

    take: tuple[float, ...]  # of the same take
    earlier: tuple[float, ...]  # of the same point, earlier takes
    partner: float | None  # of the symmetric partner, less what the last survey had them differ by
    family: tuple[float, ...]
    alike: tuple[float, ...]  # points held to the same limit
    steps: frozenset[Resistance]  # the steps of the last digit that are usual, empty while too few were read
    off_survey: tuple[float, ...]  # how far other readings lie from what the last survey expects

    @classmethod
    def of(cls, survey: Survey, here: Point, expected: Mapping[str, Expectation]) -> _Recent:
        standing = survey.standings[here.id]
        by_point: dict[str, float] = {}
        steps: Counter[Resistance] = Counter()
        take: list[float] = []
        earlier: list[float] = []
        for record in survey.last_records(_RECENT):
            if not record.is_valid or record.reading.ohms <= 0:
                continue
            steps[_step(record.reading)] += 1
            log = math.log(record.reading.ohms)
            if record.point != here.id:
                by_point[record.point] = log
            elif record.retest == standing.retest:
                (take if record.take == standing.take else earlier).append(log)
        others = [(survey.points[other], log) for other, log in by_point.items()]
        return cls(
            take=tuple(take),
            earlier=tuple(earlier),
            partner=_partner(here, by_point, expected),
            family=tuple(log for other, log in others if here.family and other.family == here.family),
            alike=tuple(log for other, log in others if _same_limit(other, here)),
            steps=frozenset(_usual(steps)) if len(by_point) >= _STEPS_KNOWN else frozenset(),
            off_survey=tuple(
                log - expected[other.id].mean
                for other, log in others
                if other.id in expected and expected[other.id].source is Source.SURVEY
            ),
        )


def _partner(here: Point, by_point: Mapping[str, float], expected: Mapping[str, Expectation]) -> float | None:
    if here.pair not in by_point:
        return None
    mine, theirs = expected.get(here.id), expected.get(here.pair)
    known = mine is not None and theirs is not None and mine.source is theirs.source is Source.SURVEY
    return by_point[here.pair] + (mine.mean - theirs.mean if known and mine and theirs else 0.0)


def _step(reading: Resistance) -> Resistance:
    return Resistance(reading.resolution, reading.unit)


def _usual(steps: Counter[Resistance]) -> Iterator[Resistance]:
    """The steps that are no slip themselves: one slip must not make the next one look usual."""
    least = max(2, math.ceil(_RARE_STEP * steps.total()))
    return (step for step, count in steps.items() if count >= least)


def _same_limit(one: Point, other: Point) -> bool:
    if one.limit.maximum is None and one.limit.minimum is None:
        return False
    return (one.limit.maximum, one.limit.minimum) == (other.limit.maximum, other.limit.minimum)


def _views(here: Point, expectation: Expectation | None, recent: _Recent) -> Iterator[_View]:
    """Every kind of knowledge there is, the best first; with a last survey that one alone."""
    if recent.take:
        yield _View(None, statistics.median(recent.take), _TAKE_SPREAD, "the reading before it")
        return
    source = expectation.source if expectation is not None else Source.NOTHING
    if expectation is not None and source is Source.SURVEY:
        spread = _spread(recent.off_survey, expectation.spread, middle=0.0)
        yield _View(DoubtKind.SURVEY, expectation.mean, spread, "the last survey")
        return
    if recent.partner is not None:
        yield _View(DoubtKind.PAIR, recent.partner, _PAIR_SPREAD, f"its pair {here.pair}")
    if recent.family or source is Source.FAMILY:
        prior = expectation if source is Source.FAMILY else None
        mean, spread = _pooled(recent.family, prior, _FAMILY_SPREAD)
        yield _View(DoubtKind.FAMILY, mean, spread, f"the others of its family, {here.family}")
    if expectation is None:
        return
    if source is Source.BAND:
        yield _View(DoubtKind.BAND, expectation.mean, expectation.spread, "", here.expected)
    elif source is Source.CONDUCTOR:
        yield _View(None, expectation.mean, expectation.spread, "what its conductor should give")
    elif source is Source.LIMIT and len(recent.family) < _FAMILY_TELLS:
        mean, spread = _pooled(recent.alike, expectation, _LIMIT_SPREAD)
        if here.family:  # families differ, and those read so far need not be like this one
            spread = math.hypot(spread, _FAMILY_SPREAD)
        words = (
            "the points with its limit" if recent.alike else f"what its limit, {here.limit.figures}, suggests"
        )
        yield _View(None, mean, spread, words)


def _spread(offs: Sequence[float], known: float, middle: float | None = None) -> float:
    """A spread known beforehand, corrected by what today shows; robust against strays.

    Where the middle is that of the values themselves, few of them seem to scatter less than they
    do: n / (n - 0.8) puts that right (Croux and Rousseeuw 1992, value from memory).
    """
    count = len(offs)
    weight = count if middle is not None else count - 1
    if weight < 1:
        return known
    about = statistics.median(offs) if middle is None else middle
    robust = robust_spread(offs, about)
    if count >= _OUTER_TELLS:
        robust = max(robust, outer_spread(offs, about))
    if middle is None:
        robust *= count / (count - 0.8)
    squares = _SPREAD_WEIGHT * known**2 + weight * robust**2
    return math.sqrt(squares / (_SPREAD_WEIGHT + weight))


def _pooled(logs: Sequence[float], prior: Expectation | None, within: float) -> tuple[float, float]:
    """Where the next of its kind should read, after ``logs`` of its kind: a mean and a spread.

    A prior expectation counts for one reading, so that the first to be read does not decide alone.
    """
    if not logs:
        return (prior.mean, prior.spread) if prior is not None else (0.0, math.inf)
    known = [*logs, prior.mean] if prior is not None else logs
    return statistics.median(known), _spread(known, within) * math.sqrt(1 + 1 / len(known))


# --- what is doubtful ---------------------------------------------------------------------


def _beyond_display(reading: Resistance, here: Point, meter: Instrument) -> Iterator[Doubt]:
    """A digit finer than one step of the display was not read off this meter, and yet decides."""
    step = meter.accuracy.resolution if meter.accuracy is not None else None
    if step is None or step.ohms <= 0 or here.current_ma is not None:  # a voltage is read off another display
        return
    # "2.0" is not what a display of whole milliohms shows; "950u" is what 0.95 mohm may be keyed as.
    has_noughts = "." in reading.digits and step.ohms.normalize().as_tuple().digits == (1,)
    if EXACT.remainder(reading.ohms, step.ohms) or (has_noughts and reading.resolution < step.ohms):
        what = f"{reading} has a digit that {meter.title or meter.id} cannot show, its steps are {step}"
        yield Doubt(DoubtKind.DISPLAY, f"{what}: read off another meter?")


def _zero(here: Point) -> Iterator[Doubt]:
    if here.limit.minimum is None:
        what = "a reading of nought: are both probes on the same part?"
        yield Doubt(DoubtKind.CONDUCTOR, what)


def _below_conductor(here: Point, reading: Resistance, survey: Survey) -> Iterator[Doubt]:
    if here.conductor is None:
        return
    celsius = float(survey.route.celsius) if survey.route.celsius is not None else 20.0
    least = _least_ohms(here.conductor, celsius)
    if float(reading.ohms) < least:
        share = float(reading.ohms) / least
        what = f"{reading} is {share:.0%} of what the conductor alone must have: both probes on one part?"
        yield Doubt(DoubtKind.CONDUCTOR, what, _likely(reading, math.log(least) + 0.4, 0.5))


def _least_ohms(conductor: Conductor, celsius: float) -> float:
    warmth = 1 + float(ALPHA_20[conductor.metal]) * (celsius - 20)
    return float(ohms_at_20(conductor)) * warmth * _MARGIN


def _outside_band(
    here: Point, reading: Resistance, expectation: Expectation | None, recent: _Recent
) -> Iterator[Doubt]:
    """What lies outside the route's band, and known neither from this take nor from the last survey.

    Of voltages none: their thermal part is still in them.
    """
    band, log = here.expected, math.log(reading.ohms)
    side = _side(reading.ohms, band) if band is not None and here.current_ma is None else 0
    if band is None or not side or any(abs(log - taken) <= _AGREES for taken in recent.take):
        return
    is_known = expectation is not None and expectation.source is Source.SURVEY
    if not is_known or expectation is None or _side(Decimal(math.exp(expectation.mean)), band) != side:
        yield Doubt(DoubtKind.BAND, _beside_band(reading, band))


def _side(ohms: Decimal, band: Expected) -> int:
    """1 above a band, -1 below, 0 inside."""
    return int(ohms > band.high.ohms) - int(ohms < band.low.ohms)


def _beside_band(reading: Resistance, band: Expected) -> str:
    beside = {1: "above", -1: "below", 0: "far from the middle of"}[_side(reading.ohms, band)]
    low = band.low.digits if band.low.unit is band.high.unit else str(band.low)
    return f"{reading} is {beside} the expected {low} to {band.high}"


def _unit_of(here: Point) -> Unit:
    """The unit in which a point is judged; else the one in which it is read."""
    bound = here.limit.maximum or here.limit.minimum
    return here.unit if bound is None else bound.unit


def _far(reading: Resistance, views: Iterable[_View], unit: Unit, *, is_odd: bool) -> Iterator[Doubt]:
    """What lies too far from what is expected: a slip where one explains it, else just far.

    ``unit``: in which the value is told that it would have been, had its unit been another.

    ``is_odd``: hardly a reading so far was keyed with so many decimals, as happens where the point is
    moved; then a tenfold slip is believed half way between sound and tenfold.
    """
    caution, tail = (0.0, _ODD_TAIL) if is_odd else (_CAUTION, _TAIL)
    log = math.log(reading.ohms)
    for view in views:
        off = abs(log - view.mean)
        spreads = OUTLIER_Z if view.kind is DoubtKind.FAMILY else FAR
        is_far = view.kind is not None and off > max(spreads * view.spread, LEAST_FACTOR)
        if not is_far and off <= max(_TENFOLD / 2 + caution * view.spread, tail * view.spread):
            continue
        slip = _slip(reading, view, only_shifts=not is_far)
        if slip is not None:
            name, likely = slip
            if name is Slip.UNIT_WRONG:
                likely = _with_other_unit(reading, likely).to(unit)
            yield Doubt(DoubtKind.SLIP, f"{view.tell(reading)}: {name.value}? {likely} fits", likely)
            return
        if is_far and view.kind is not None:
            yield Doubt(view.kind, view.tell(reading))


def _with_other_unit(reading: Resistance, meant: Resistance) -> Resistance:
    """``meant`` in the digits that were keyed, where there is a unit for them: 47 kΩ, not 47000000 mΩ."""
    return next((r for u in Unit if (r := Resistance(reading.value, u)).ohms == meant.ohms), meant)


def _repeated(reading: Resistance, here: Point, views: Sequence[_View], survey: Survey) -> Iterator[Doubt]:
    before = next(iter(survey.last_records(1)), None)
    if before is None or before.point == here.id or before.reading != reading:
        return
    known = next((view for view in views if math.isfinite(view.spread)), None)
    if known is None:
        return
    z = (math.log(reading.ohms) - known.mean) / known.spread
    step = float(reading.resolution / reading.ohms)
    chance = step * math.exp(-z * z / 2) / (known.spread * math.sqrt(2 * math.pi))
    if chance < RARE:
        what = f"{reading} is what record {before.record} read at {before.point}: keyed again by mistake?"
        yield Doubt(DoubtKind.REPEATED, what)


def _slip(reading: Resistance, view: _View, *, only_shifts: bool) -> tuple[Slip, Resistance] | None:
    """The likeliest slip, and the value it would have been, that brings the reading to what is expected."""
    best: tuple[float, Slip, Resistance] | None = None
    ways = list(candidates(reading))
    counts = {slip: sum(one is slip for one, _ in ways) for slip in _SHARES}
    for slip, value in ways:
        if only_shifts and slip not in (Slip.POINT_MOVED, Slip.UNIT_WRONG):
            continue
        z = (math.log(value.ohms) - view.mean) / view.spread
        weight = _SHARES.get(slip, 0.0) / max(1, counts.get(slip, 1)) * math.exp(-z * z / 2)
        if abs(z) <= _TAIL and (best is None or weight > best[0]):
            best = weight, slip, value
    return None if best is None else best[1:]


def _likely(reading: Resistance, mean: float, spread: float) -> Resistance | None:
    found = _slip(reading, _View(None, mean, spread, ""), only_shifts=True)
    return found[1] if found is not None else None


def _times(off: float) -> str:
    """``3.1 times``, ``9.8 times less than`` or ``far above``: by what factor a value lies off."""
    factor = math.exp(abs(off))
    if factor >= _BEYOND_WORDS:
        return "far above" if off > 0 else "far below"
    shown = f"{factor:.1f}" if factor < 10 else f"{factor:.0f}"
    return f"{shown} times" if off > 0 else f"{shown} times less than"
