"""The whole story of one point: what was asked, what happened in order, and what its verdict rests on."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property

from fieldtui.core.account.basis import basis_of
from fieldtui.core.account.bracket import InDoubt, is_in_doubt, readings_in_doubt
from fieldtui.core.account.closing import asked_words
from fieldtui.core.account.paths import PathResult, judge_paths
from fieldtui.core.between.trend import Sample
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.meters import meter_of, meter_words
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Result, Standing
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.desk.earlier import NO_EARLIER
from fieldtui.desk.reading import ReadSession, unproven_points
from fieldtui.report.basis_words import STATUSES, basis_lines, probability_words, rule_words, two_figures
from fieldtui.report.between.history_lines import value_words
from fieldtui.report.identity import Line
from fieldtui.report.point.touches import Touch, Touches, find_touches
from fieldtui.report.told import let_stand_words

_NOT_GIVEN = "not given"


@dataclass(frozen=True, slots=True)
class Happening:
    """One row that touched the point. ``told`` are further lines: the reason, a note."""

    row: int
    when: str  # UTC
    kind: str
    what: str
    told: tuple[Line, ...]
    by: str


@dataclass(frozen=True, slots=True)
class PointStory:
    """A point's page, part by part; a part without a line is left out by whoever draws it."""

    point: Point
    state: State
    stands: tuple[Line, ...]
    rests: tuple[tuple[str, tuple[Line, ...]], ...]  # heading and lines, of as-found and as-left
    paths: tuple[Line, ...]
    happened: tuple[Happening, ...]
    defined: tuple[Line, ...]
    before: tuple[Line, ...]  # earlier surveys, the latest first
    is_in_doubt: bool = False  # its verdict, for the meter
    is_unproven: bool = False  # whatever is told of it


@dataclass(frozen=True, slots=True)
class Beside:
    """What a story needs besides the survey; it is found once for all points."""

    paths: Sequence[PathResult]
    doubts: Sequence[InDoubt]


def tell_point(
    session: ReadSession, point_id: str, touches: Sequence[Touch], earlier: Sequence[Sample], beside: Beside
) -> PointStory:
    """The story of one point; ``touches`` are the rows that touched it, ``earlier`` its older values."""
    survey = session.survey
    point, standing = survey.points[point_id], survey.standings[point_id]
    return PointStory(
        point=point,
        state=standing.state,
        stands=tuple(_stands(session, point, standing, beside.doubts)),
        rests=tuple(_rests(survey, point, standing)),
        paths=tuple(_paths(survey, point_id, beside.paths)),
        happened=tuple(map(_happening, touches)),
        defined=tuple(_definition(session, point)),
        before=tuple(_before(sample) for sample in reversed(earlier)),
        is_in_doubt=is_in_doubt(standing.as_left, {doubt.record for doubt in beside.doubts}),
        is_unproven=point_id in unproven_points(session),
    )


# --- how it stands ---------------------------------------------------------------------------


def _stands(
    session: ReadSession, point: Point, standing: Standing, doubts: Sequence[InDoubt]
) -> Iterator[Line]:
    survey = session.survey
    yield "state", standing.state.value + (f": {standing.reason}" if standing.reason else "")
    numbers = {doubt.record for doubt in doubts}
    for label, result in (("as found", standing.as_found), ("as left", standing.as_left)):
        yield label, _result(survey, result, numbers) if result is not None else "no complete take that holds"
    if point.id in unproven_points(session):
        yield "UNPROVEN", f"its trail proves nothing from row {session.unproven_from} on"
    if standing.asked_again and standing.as_left is not None:
        yield "TO DO", asked_words(survey, point.id)
    if standing.attempts:
        yield "no value", counted(standing.attempts, "try", "tries")
    if standing.discrepancy:
        yield "discrepancy", standing.discrepancy
    whys: dict[str, list[str]] = {}
    for doubt in doubts:
        if doubt.point == point.id:
            whys.setdefault(doubt.why, []).append(str(doubt.record))
    for why, records in whys.items():
        yield "IN DOUBT", f"record {', '.join(records)}: {why}"
    if point.restore:
        yield "restored", _restored(session, point)


def _restored(session: ReadSession, point: Point) -> str:
    """In which row; of a sheet keyed from paper nobody knows, until a row says so."""
    row = session.survey.ending.restored.get(point.id)
    if row is not None:
        return f"row {row}"
    is_paper = bool(session.facts.transcribed_from)
    return f"not in this record, see the paper: {point.restore}" if is_paper else f"NOT YET: {point.restore}"


def _result(survey: Survey, result: Result, doubts: Container[int]) -> str:
    records = ", ".join(str(record.record) for record in result.records)
    retest = ", retest" if result.last.retest else ""
    doubt = " IN DOUBT" if is_in_doubt(result, doubts) else ""
    stands = let_stand_words(survey, result)
    told = f"{result.value}, {result.verdict.value}{doubt} (record {records}{retest})"
    return f"{told}; {stands}" if stands else told


def _rests(survey: Survey, point: Point, standing: Standing) -> Iterator[tuple[str, tuple[Line, ...]]]:
    """As-found too where it was another take, so that a retest can be held against it."""
    found, left = standing.as_found, standing.as_left
    if left is None:
        return
    if found is not None and found.records != left.records:
        yield "As found rests on", _basis(survey, point, found)
    yield "The verdict rests on", _basis(survey, point, left)


def _basis(survey: Survey, point: Point, result: Result) -> tuple[Line, ...]:
    basis = basis_of(point, result, survey.conditions)
    meter = ("meter", meter_words(meter_of(survey.meters, result.last)))
    return (("limit", basis.limit.words(result.value.unit)), *basis_lines(point, basis), meter)


# --- paths -----------------------------------------------------------------------------------


def _paths(survey: Survey, point_id: str, results: Sequence[PathResult]) -> Iterator[Line]:
    for result in results:
        path = result.path
        if point_id not in path.points:
            continue
        limit = _limit(path.limit, result.value.unit if result.value is not None else None)
        yield path.id, f"{path.title or 'path in series'}: {limit}"
        yield "in series", " + ".join(f"{point} {_value(survey, point)}" for point in path.points)
        if result.value is None or result.verdict is None:
            yield "sum", f"none yet: no value at {', '.join(result.missing)}"
            continue
        words = f"{result.value}, {result.verdict.value}" + (" IN DOUBT" if result.is_in_doubt else "")
        if result.expanded is not None:
            words += f"; U {two_figures(result.expanded, result.value.unit)}"
        if result.probability is not None:
            words += f"; conforms with a probability of {probability_words(result.probability)}"
        yield "sum", words


def _value(survey: Survey, point_id: str) -> str:
    left = survey.standings[point_id].as_left
    if left is None:
        return "no value"
    judged = basis_of(survey.points[point_id], left, survey.conditions).judged
    return f"{judged.value} at 20 °C" if judged.is_corrected else str(judged.value)


# --- what happened ---------------------------------------------------------------------------


def _happening(touch: Touch) -> Happening:
    event = touch.event
    told = [("reason", touch.reason)] if touch.reason else []
    if event.note:
        told.append(("note", event.note))
    return Happening(touch.row, _second(event.time), event.kind, touch.what, tuple(told), event.by)


# --- what was asked --------------------------------------------------------------------------


def _definition(session: ReadSession, point: Point) -> Iterator[Line]:
    yield "section", session.facts.route.section_title(point.section) or _NOT_GIVEN
    yield from _given(("where", point.where), ("A", point.a), ("B", point.b))
    yield "limit", _limit(point.limit, point.unit)
    yield from _criterion(session, point.limit)
    if point.retest is not None and point.retest != point.limit:
        yield "after rework", _limit(point.retest, point.unit)
        yield from _criterion(session, point.retest)
    if point.expected is not None:
        yield "expected", f"{point.expected.low} to {point.expected.high}"
    if point.conductor is not None:
        each = point.conductor
        size = f"AWG {each.awg}" if each.awg else f"{each.mm2} mm²"
        yield "conductor", f"{size}, {each.length_mm} mm, {each.metal}"
    if point.repeats > 1:
        yield "readings", f"{point.repeats} a take, put together by {point.rule}, method {point.method}"
    if point.current_ma is not None:
        yield "keyed as", f"voltages with their sign, at a test current of {point.current_ma:f} mA"
    if point.correct_to_20:
        yield "temperature", "to be judged as it would read at 20 °C"
    yield from _given(
        ("partner", point.pair), ("family", point.family), ("condition", point.condition),
        ("prepare", point.prepare), ("restore", point.restore), ("CAUTION", point.caution),
    )  # fmt: skip
    if point.unplanned:
        yield "unplanned", "put in during the walk"


def _given(*lines: Line) -> Iterator[Line]:
    return (line for line in lines if line[1])


def _limit(limit: Limit, unit: Unit | None = None) -> str:
    """With its decision rule, the usual one too."""
    words = limit.words(unit)
    return f"{words}; {rule_words(limit.rule)}" if limit.judges and not limit.rule_words else words


def _criterion(session: ReadSession, limit: Limit) -> Iterator[Line]:
    if not limit.judges:
        return
    known = session.facts.criteria.get(limit.criterion)
    title = f"{known.title} ({limit.criterion})" if known is not None and known.title else limit.criterion
    yield "criterion", title or "stated in the route"
    clause = known.clause if known is not None else ""
    yield "source", ", ".join(filter(None, (limit.source, clause))) or _NOT_GIVEN
    yield "status", STATUSES[limit.status]


# --- earlier surveys -------------------------------------------------------------------------


def _before(sample: Sample) -> Line:
    reading = sample.reading
    doubt = " IN DOUBT" if reading.is_in_doubt else ""
    limit = sample.seen.limit.words(reading.value.unit)
    words = f"{value_words(reading)}, {reading.verdict.value}{doubt} against {limit}"
    if reading.as_found is not None:
        value, verdict = reading.as_found
        words += f"; as found {value}, {verdict.value}"
    return reading.when.astimezone(UTC).date().isoformat(), words + (", retest" if reading.is_retest else "")


def _second(time: datetime) -> str:
    return time.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S")


# --- all of them -----------------------------------------------------------------------------


class Stories:
    """Tells the points of one session; what is common to all of them is found when the first is told."""

    def __init__(self, session: ReadSession) -> None:
        self.session = session
        self.earlier = NO_EARLIER  # replaced once the earlier surveys were read

    @cached_property
    def _touches(self) -> Touches:
        return find_touches(self.session.facts, self.session.events)

    @cached_property
    def _beside(self) -> Beside:
        survey = self.session.survey
        return Beside(judge_paths(survey), readings_in_doubt(survey))

    def prepare(self) -> None:
        """Find what is common to all points; of a long trail that takes a while."""
        _ = self._touches, self._beside

    def tell(self, point: str) -> PointStory:
        """The story of one point of the survey."""
        touches, earlier = self._touches.get(point, ()), self.earlier.of(point)
        return tell_point(self.session, point, touches, earlier, self._beside)
