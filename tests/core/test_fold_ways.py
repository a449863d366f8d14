"""The short ways of the fold give what the long ways give, whatever is told, legal or not."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.measurement.voltage import VoltUnit, voltage_reading
from fieldtui.core.plan.route import Limit, Point, Route
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey import survey as survey_of
from fieldtui.core.survey.draft import LONG_GAP, Draft
from fieldtui.core.survey.judged import JudgedReadings
from fieldtui.core.survey.meters import format_meter
from fieldtui.core.survey.position import State, Waiting, WalkOrder
from fieldtui.core.survey.standing import Conditions, Standing, judge_take
from fieldtui.core.survey.step import apply
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from tests.core.walks import AT_MOST_2_5, METER, START, Walk, point, route
from tests.strategies import routes

Told = Callable[..., ev.Event]

values = st.sampled_from(["1.00", "2.50", "2.51", "9.9", "0.1"]).map(
    lambda text: parse_resistance(text, Unit.MOHM)
)
verdicts = st.sampled_from(Verdict)
small = st.integers(1, 6)
reasons = st.sampled_from(["paint", "not accessible", ""])


def careful_way(route: Route, events: Iterable[ev.Event], instrument: Instrument = METER) -> Survey:
    """The fold in which every row has its step, plain or not."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(survey_of, "take_stretch", lambda rows, _: next(rows, None))
        return fold(route, instrument, events)


def long_way(route: Route, events: Iterable[ev.Event], instrument: Instrument = METER) -> Survey:
    """The fold in which every reading has its point's whole record judged anew."""

    def judged_anew(draft: Draft, at: Point) -> tuple[int, bool, None]:
        standing: Standing = draft.standings[at.id]
        return standing.take, standing.retest, None

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Draft, "next_take", judged_anew)
        return careful_way(route, events, instrument)


def assert_alike(route: Route, told: Sequence[ev.Event], instrument: Instrument = METER) -> Survey:
    """Whichever way the events are taken in, the survey is the same, down to digits and orders."""
    whole = fold(route, instrument, told)
    careful, step_by_step = careful_way(route, told, instrument), fold(route, instrument)
    for event in told:
        step_by_step = step_by_step.after(event)
    for other in (careful, long_way(route, told, instrument), step_by_step):
        assert whole == other
        # What equality does not say: the order of keys, and the digits of values that are equal.
        assert [*whole.records] == [*other.records]
        assert [*whole.standings] == [*other.standings]
        assert [str(each.reading) for each in whole.records.values()] == [
            str(each.reading) for each in other.records.values()
        ]
    assert whole.waiting == Waiting.of(whole.order, lambda each: whole.standings[each].state)
    return whole


def steps_taken(route: Route, told: Sequence[ev.Event], instrument: Instrument = METER) -> list[int]:
    """The rows that were not plain."""
    rows: list[int] = []

    def noted(event: ev.Event, draft: Draft) -> None:
        apply(event, draft)
        rows.append(draft.rows)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(survey_of, "apply", noted)
        fold(route, instrument, told)
    return rows


@st.composite
def tellings(draw: st.DrawFn, ids: list[str]) -> list[ev.Event]:
    """Some events; most readings have the next number, other references are anybody's guess."""
    points = st.sampled_from([*ids, "X-99"])
    kinds: list[tuple[type[ev.Event], dict[str, st.SearchStrategy[object]]]] = [
        (ev.AttemptFailed, {"point": points, "reason": reasons}),
        (ev.Skipped, {"point": points, "reason": reasons}),
        (ev.RedoAsked, {"point": points, "reason": reasons, "ref": st.none() | small}),
        (ev.Voided, {"ref": small, "point": points, "reason": reasons}),
        (
            ev.Amended,
            {"ref": small, "reason": reasons, "point": st.none() | points, "reading": st.none() | values},
        ),
        (ev.Reworked, {"point": points, "reason": reasons}),
        (ev.Waived, {"point": points, "reason": reasons, "ref": reasons}),
        (ev.Jumped, {"point": points}),
        (ev.ReadingsShifted, {"ref": small, "record": small, "point": points, "reason": reasons}),
        (ev.SectionReversed, {"point": points}),
        (ev.DiscrepancyRaised, {"point": points, "ref": reasons}),
        (ev.RunStarted, {"run": small, "number": small}),
        (ev.Opened, {}),
    ]
    told: list[ev.Event] = []
    record = 0
    for second in range(draw(st.integers(0, 25))):
        common = {"time": START + timedelta(seconds=second), "by": "Ana"}
        if draw(st.booleans()):
            record = record + 1 if draw(st.integers(0, 9)) else draw(small)
            facts = {"point": draw(points), "reading": draw(values), "verdict": draw(verdicts)}
            told.append(ev.ReadingTaken(**common, record=record, **facts))  # type: ignore[arg-type]
        else:
            build, fields = draw(st.sampled_from(kinds))
            told.append(build(**common, **{name: draw(each) for name, each in fields.items()}))  # type: ignore[arg-type]
    return told


@given(st.data(), routes(max_points=4))
def test_readings_worked_in_at_once_or_one_by_one_make_the_same_survey(
    data: st.DataObject, on: Route
) -> None:
    assert_alike(on, data.draw(tellings([each.id for each in on.points])))


# --- stretches of plain rows --------------------------------------------------------------------

KEYED = [parse_resistance(text, Unit.MOHM) for text in ("1.00", "2.5", "2.50", "2.51", "9.9")]
PRECISE = Accuracy(percent=Decimal(0), floor=parse_resistance("0.04", Unit.MOHM))
SPARE = replace(METER, id="spare", title="Spare bond meter", accuracy=PRECISE)
GUARDED = Limit(maximum=parse_resistance("2.5", Unit.MOHM), rule=DecisionRule(RuleKind.GUARDED))


def plain_route() -> Route:
    """Most points want one reading; their limits, and what is asked besides, are of several kinds."""
    return route(
        *("A-1", "A-2", point("A-3", limit=GUARDED), point("A-4", limit=GUARDED, retest=AT_MOST_2_5)),
        *(point("A-5", repeats=2), point("A-6", limit=Limit(record_only=True)), "B-7", "B-8"),
        check_every=3,
    )


class Teller(Walk):
    """A walk whose rows are told as the program itself would write them, so that most are plain."""

    def check(self, off: int = 0) -> Walk:
        run = self.survey.run
        if run is None:
            return self
        agreed = ev.Agreement.DIFFER if off else ev.Agreement.AGREE
        return self.tell(ev.NumberChecked, run=run.run, number=run.next_number - 1 + off, verdict=agreed)

    def read_one(self, keyed: Resistance, at: str, **facts: Any) -> Walk:
        run, next_record = self.survey.run, self.survey.next_record
        said: dict[str, Any] = {"record": next_record, "verdict": self.survey.would_say(at, keyed)}
        filed = {"run": run.run, "number": run.next_number} if run is not None else {}
        return self.tell(ev.ReadingTaken, **{"point": at, "reading": keyed, **said, **filed, **facts})


@given(st.data())
@settings(max_examples=200)
def test_stretches_of_plain_rows_make_the_same_survey(data: st.DataObject) -> None:
    on = plain_route()
    ids = [each.id for each in on.points]
    walk = Teller(*on.points, instrument=METER, check_every=3)
    if data.draw(st.booleans()):
        walk.start_run(data.draw(st.integers(1, 9)))
    seldom = st.integers(0, data.draw(st.sampled_from([3, 30]))).map(lambda n: n == 0)
    for _ in range(data.draw(st.integers(1, 25))):
        if data.draw(st.integers(0, 5)) == 0:
            walk.check(data.draw(seldom) and 1)
        elif not data.draw(seldom):
            here = walk.survey.position.here
            at = data.draw(st.sampled_from(ids)) if here is None or data.draw(seldom) else here
            walk.read_one(data.draw(st.sampled_from(KEYED)), at)
        else:
            _tell_something_else(walk, data, ids)
    assert_alike(on, walk.events)


def _tell_something_else(walk: Teller, data: st.DataObject, ids: list[str]) -> None:
    """One row that is not plain, or that makes the next one other than plain."""
    at, record = data.draw(st.sampled_from(ids)), data.draw(st.integers(1, 8))
    run, refs = data.draw(st.integers(1, 2)), st.none() | st.integers(1, 8)
    others: list[Callable[[], object]] = [
        lambda: walk.skip(at),
        lambda: walk.redo(at),
        lambda: walk.jump(at),
        lambda: walk.tell(ev.Voided, ref=record, point=at, reason="wrong clip"),
        lambda: walk.tell(
            ev.Amended, ref=record, reason="slip", point=data.draw(st.sampled_from([None, at]))
        ),
        lambda: walk.tell(ev.AttemptFailed, point=at, reason="no contact"),
        lambda: walk.tell(ev.Reworked, point=at, reason="cleaned"),
        lambda: walk.tell(ev.SectionReversed, point=at),
        lambda: walk.tell(ev.MeterTaken, ref="spare", reason="battery", definition=format_meter(SPARE)),
        walk.start_run,
        lambda: walk.tell(ev.Reconciled, run=len(walk.survey.runs) or 1, ref="list.csv"),
        lambda: walk.tell(ev.Noted, note="rain"),
        lambda: walk.tell(ev.Renumbered, run=run, number=9, reason="twice", ref=data.draw(refs)),
        lambda: walk.check(1).tell(ev.Renumbered, run=run, number=7, reason="twice", ref=data.draw(refs)),
        lambda: walk.check(1).tell(ev.Unfiled, ref=record, reason="not kept"),
        lambda: walk.tell(ev.Closed),
        lambda: walk.read_one(KEYED[0], at, verdict=data.draw(verdicts)),
        lambda: walk.read_one(KEYED[0], at, record=record),
        lambda: walk.read_one(KEYED[0], at, run=record, number=record),
    ]
    data.draw(st.sampled_from(others))()


def plain_walk(*points: Point | str) -> Teller:
    """Three readings of which the last two are plain; more points are ahead."""
    walk = Teller(*(points or ("A-1", "A-2", "A-3", "A-4", "A-5", "A-6")))
    walk.start_run()
    for _ in range(3):
        walk.read_one(KEYED[0], walk.here)
    return walk


def test_plain_rows_have_no_step_of_their_own() -> None:
    walk = plain_walk()
    walk.check()
    walk.read_one(KEYED[0], walk.here, note="cap off", reason="once more")
    walk.read_one(KEYED[0], "A-1")  # elsewhere, and read before
    walk.read_one(KEYED[3], "A-1")  # and now it fails
    assert steps_taken(walk.route, walk.events) == [1, 2]
    found = assert_alike(walk.route, walk.events)
    assert (found.standings["A-1"].records, found.standings["A-1"].take) == ((1, 5, 6), 4)
    assert [each.take for each in found.records.values()] == [1, 1, 1, 1, 2, 3]
    assert [each.number for each in found.records.values()] == [1, 2, 3, 4, 5, 6]
    assert found.last_time == walk.events[-1].time


def test_after_a_row_that_is_not_plain_the_next_stretch_begins() -> None:
    walk = plain_walk()
    walk.skip()
    for _ in range(2):
        walk.read_one(KEYED[0], walk.here)
    walk.redo("A-1")
    walk.read_one(KEYED[0], "A-1")
    walk.read_one(KEYED[0], walk.here)
    # Each of the two has the reading after it done with care: it says that something came before it.
    assert steps_taken(walk.route, walk.events) == [1, 2, 5, 6, 8, 9]
    assert_alike(walk.route, walk.events)


VOLTS = voltage_reading(Decimal("0.10"), VoltUnit.MILLIVOLT, Decimal(100))
ODD_ROWS: dict[str, Callable[[Teller], object]] = {
    "a verdict that is not what the limit gives": lambda walk: walk.read_one(
        KEYED[0], walk.here, verdict=Verdict.FAIL
    ),
    "a record number left out": lambda walk: walk.read_one(KEYED[0], walk.here, record=7),
    "another memory run": lambda walk: walk.read_one(KEYED[0], walk.here, run=2, number=1),
    "a long gap": lambda walk: walk.events.append(
        replace(walk.read_one(KEYED[0], walk.here).events.pop(), time=START + 2 * LONG_GAP)
    ),
    "a voltage": lambda walk: walk.read_one(VOLTS, walk.here),
    "a point not on the route": lambda walk: walk.read_one(KEYED[0], walk.here, point="X-1"),
    "a number that differs": lambda walk: walk.check(1),
    "a number that only seems to agree": lambda walk: walk.tell(
        ev.NumberChecked, run=1, number=9, verdict=ev.Agreement.AGREE
    ),
    "a number that agrees and is said to differ": lambda walk: walk.tell(
        ev.NumberChecked, run=1, number=3, verdict=ev.Agreement.DIFFER
    ),
    "a skip": lambda walk: walk.skip(),
}


@pytest.mark.parametrize("odd", ODD_ROWS.values(), ids=ODD_ROWS.keys())
def test_a_row_that_is_not_plain_has_its_step(odd: Callable[[Teller], object]) -> None:
    walk = plain_walk()
    odd(walk)
    assert steps_taken(walk.route, walk.events)[-1] == len(walk.events)
    walk.read_one(KEYED[0], "A-5")
    walk.read_one(KEYED[0], "A-6")
    found = assert_alike(walk.route, walk.events)
    assert found.problems or found.out_of_step or any(each.is_disturbed for each in found.records.values())


LEFT_OVER: dict[str, Callable[[Teller], object]] = {
    "a try without a value": lambda walk: walk.tell(ev.AttemptFailed, point=walk.here, reason="no contact"),
    "a disturbance": lambda walk: walk.tell(ev.Opened),
    "a detour": lambda walk: walk.jump("A-6"),
    "a memory run held against its list": lambda walk: walk.tell(ev.Reconciled, run=1, ref="list.csv"),
    "the close": lambda walk: walk.tell(ev.Closed),
}


@pytest.mark.parametrize("before", LEFT_OVER.values(), ids=LEFT_OVER.keys())
def test_what_a_row_leaves_over_is_met_by_the_next_reading(before: Callable[[Teller], object]) -> None:
    walk = plain_walk()
    before(walk)
    walk.read_one(KEYED[0], walk.here)
    assert steps_taken(walk.route, walk.events)[-2:] == [len(walk.events) - 1, len(walk.events)]
    walk.read_one(KEYED[0], walk.here)
    assert_alike(walk.route, walk.events)


def test_a_number_check_is_due_after_so_many_plain_readings() -> None:
    walk = Teller("A-1", "A-2", "A-3", "A-4", "A-5", check_every=3)
    walk.start_run()
    for _ in range(4):
        walk.read_one(KEYED[0], walk.here)
    found = assert_alike(walk.route, walk.events)
    assert found.check_due == "4 readings since the last"  # the count goes on
    walk.check()
    assert assert_alike(walk.route, walk.events).check_due == ""
    assert steps_taken(walk.route, walk.events) == [1, 2]


def test_ohms_at_a_point_read_in_volt_are_found_though_they_would_pass() -> None:
    walk = plain_walk("A-1", "A-2", "A-3", point("A-4", current_ma=Decimal(100)), "A-5")
    walk.read_one(KEYED[0], "A-4")
    assert steps_taken(walk.route, walk.events) == [1, 2, 5]
    assert len(assert_alike(walk.route, walk.events).problems) == 1


def test_a_point_that_wants_two_readings_is_not_plain() -> None:
    walk = plain_walk("A-1", "A-2", "A-3", point("A-4", repeats=2), "A-5")
    for _ in range(3):
        walk.read_one(KEYED[0], walk.here)
    assert steps_taken(walk.route, walk.events) == [1, 2, 5, 6]
    assert_alike(walk.route, walk.events)


def test_another_meter_judges_what_it_reads_by_its_own_accuracy() -> None:
    walk = plain_walk("A-1", "A-2", *(point(f"A-{n}", limit=GUARDED) for n in range(3, 9)))
    walk.read_one(KEYED[1], "A-4")
    walk.tell(ev.MeterTaken, ref="spare", reason="battery", definition=format_meter(SPARE))
    walk.start_run()
    for at in ("A-5", "A-4", "A-6"):
        walk.read_one(KEYED[1], at)  # at its limit, nothing in hand for the guard band
    found = assert_alike(walk.route, walk.events)
    assert [each.verdict for each in found.records.values()][3:] == [Verdict.PASS, *[Verdict.FAIL] * 3]
    assert steps_taken(walk.route, walk.events) == [1, 2, 6, 7, 8]


@pytest.mark.parametrize("lacking", [{"number": None}, {"run": None}, {"run": None, "number": None}])
def test_a_reading_that_the_meter_did_not_file_is_plain(lacking: dict[str, None]) -> None:
    walk = plain_walk()
    walk.read_one(KEYED[0], walk.here, **lacking)
    walk.check()
    walk.read_one(KEYED[0], walk.here)
    assert steps_taken(walk.route, walk.events) == [1, 2]
    found = assert_alike(walk.route, walk.events)
    assert found.problems == ()
    assert found.next_number == 5


def test_without_a_memory_run_readings_are_plain_and_no_number_agrees() -> None:
    walk = Teller("A-1", "A-2", "A-3", "A-4")
    for _ in range(3):
        walk.read_one(KEYED[0], walk.here)
    walk.tell(ev.NumberChecked, run=1, number=3, verdict=ev.Agreement.AGREE)
    assert steps_taken(walk.route, walk.events) == [1, 4]
    assert len(assert_alike(walk.route, walk.events).problems) == 1


def test_the_second_pass_is_the_same_whichever_way_it_begins() -> None:
    """The last point read out of turn: nothing is open behind it, so the walk begins anew."""
    walk = plain_walk("A-1", "A-2", "A-3", "A-4", "A-5", "A-6", "A-7")
    walk.read_one(KEYED[0], "A-7")
    walk.read_one(KEYED[0], "A-5")
    found = assert_alike(walk.route, walk.events)
    assert (found.position.here, found.position.second_pass) == ("A-6", True)
    assert steps_taken(walk.route, walk.events) == [1, 2]


def test_many_stretches_cost_no_more_than_one() -> None:
    """Rows are gone through once, however often a stretch begins: counted, not timed."""
    on = route(*(point(f"A-{n}") for n in range(5)))
    asked = 0

    def told() -> Iterator[ev.Event]:
        nonlocal asked
        for n in range(1, 1001):
            asked += 1
            yield ev.ReadingTaken(
                time=START, by="Ana", record=n, point=f"A-{n % 5}", reading=KEYED[0], verdict=Verdict.PASS
            )
            asked += 1
            yield ev.Noted(time=START, by="Ana")

    assert fold(on, METER, told()).rows == asked == 2000


def test_a_survey_is_not_touched_by_what_comes_after_it() -> None:
    on = route(*(point(f"SW-{n}") for n in range(40)))
    surveys = [fold(on, METER)]
    for n in range(40):
        reading = parse_resistance("1", Unit.MOHM)
        facts = {"record": n + 1, "point": f"SW-{n}", "reading": reading, "verdict": Verdict.PASS}
        surveys.append(surveys[-1].after(ev.ReadingTaken(time=START, by="Ana", **facts)))  # type: ignore[arg-type]
    assert [len(each.records) for each in surveys] == list(range(41))
    assert [each.counts[State.PASSED] for each in surveys] == list(range(41))
    assert [sum(s.state is State.PASSED for s in each.standings.values()) for each in surveys] == list(
        range(41)
    )
    assert [r.record for r in surveys[30].last_records(3)] == [28, 29, 30]


# --- verdicts remembered ------------------------------------------------------------------------


def test_a_verdict_is_remembered_by_the_digits_keyed() -> None:
    """1.5 and 1.50 are equal, but the display that showed 1.5 is the coarser: its U is larger."""
    accuracy = Accuracy(percent=parse_resistance("0", Unit.OHM).value, floor=parse_resistance("0", Unit.OHM))
    limit = Limit(maximum=parse_resistance("1.52", Unit.MOHM), rule=DecisionRule(RuleKind.GUARDED))
    judged = JudgedReadings(Conditions(accuracy)).at(point("SW-01", limit=limit), retest=False)
    coarse, fine = (parse_resistance(text, Unit.MOHM) for text in ("1.5", "1.50"))
    assert coarse == fine
    found = [judged.of(each) for each in (coarse, fine, coarse, fine)]
    assert found == [(coarse, Verdict.FAIL, State.FAILED), (fine, Verdict.PASS, State.PASSED)] * 2


def test_a_verdict_at_20_degrees_is_not_that_of_the_same_limit_elsewhere() -> None:
    conditions = Conditions(celsius=Decimal(35))
    judged, reading = JudgedReadings(conditions), parse_resistance("2.600", Unit.MOHM)
    for at in (point("SW-01"), point("SW-02", correct_to_20=True), point("SW-03")):
        said = judged.at(at, retest=False).of(reading)
        assert said is not None
        assert said[1] is (Verdict.PASS if at.correct_to_20 else Verdict.FAIL)  # 2.455 at 20 degrees


@given(st.lists(st.tuples(values, st.booleans(), st.integers(0, 2)), max_size=12))
def test_remembered_verdicts_are_those_given_anew(asked: list[tuple[Resistance, bool, int]]) -> None:
    limits = [Limit(maximum=parse_resistance(text, Unit.MOHM)) for text in ("2.5", "0.5", "2.5")]
    points = [point(f"SW-{n}", limit=each, retest=limits[1] if n else None) for n, each in enumerate(limits)]
    judged = JudgedReadings(Conditions())
    for reading, retest, which in asked:
        again = judge_take(points[which], [reading], retest=retest)
        said = judged.at(points[which], retest=retest).of(reading)
        assert said is not None
        assert said[0] is reading
        assert said[1] is again


# --- where the walk stops next ------------------------------------------------------------------


@given(st.lists(st.sampled_from(State), min_size=1, max_size=200), st.data())
def test_the_next_place_is_the_first_that_waits(states: list[State], data: st.DataObject) -> None:
    order = WalkOrder(tuple(f"P-{n}" for n in range(len(states))))
    waiting = Waiting.of(order, lambda each: states[order.place[each]])
    for _ in range(3):
        place = data.draw(st.integers(0, len(states)))
        second = data.draw(st.booleans())
        wanted = (State.OPEN, State.SKIPPED) if second else (State.OPEN,)
        naive = next((n for n in range(place, len(states)) if states[n] in wanted), None)
        assert waiting.first(place, second_pass=second) == naive
        if place < len(states):
            assert waiting.stops_at(place, second_pass=second) == (states[place] in wanted)
            states[place] = data.draw(st.sampled_from(State))
            waiting = waiting.with_state(place, states[place])
            assert waiting == Waiting.of(order, lambda each: states[order.place[each]])
