"""The short ways of the fold give what the long ways give, whatever is told, legal or not."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit, Point, Route
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.draft import Draft
from fieldtui.core.survey.judged import JudgedReadings
from fieldtui.core.survey.position import State, Waiting, WalkOrder
from fieldtui.core.survey.standing import Conditions, Standing, judge_take
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from tests.core.walks import METER, START, point, route
from tests.strategies import routes

Told = Callable[..., ev.Event]

values = st.sampled_from(["1.00", "2.50", "2.51", "9.9", "0.1"]).map(
    lambda text: parse_resistance(text, Unit.MOHM)
)
verdicts = st.sampled_from(Verdict)
small = st.integers(1, 6)
reasons = st.sampled_from(["paint", "not accessible", ""])


def long_way(route: Route, events: Iterable[ev.Event], instrument: Instrument = METER) -> Survey:
    """The fold in which every reading has its point's whole record judged anew."""

    def judged_anew(draft: Draft, at: Point) -> tuple[int, bool, None]:
        standing: Standing = draft.standings[at.id]
        return standing.take, standing.retest, None

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Draft, "next_take", judged_anew)
        return fold(route, instrument, events)


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
    told = data.draw(tellings([each.id for each in on.points]))
    whole = fold(on, METER, told)
    assert whole == long_way(on, told)
    step_by_step = fold(on, METER)
    for event in told:
        step_by_step = step_by_step.after(event)
    assert step_by_step == whole
    # Keys stay in the order in which they came, which equality of mappings does not say.
    assert list(step_by_step.records) == list(whole.records)
    assert list(step_by_step.standings) == list(whole.standings)
    assert step_by_step.waiting == Waiting.of(whole.order, lambda each: whole.standings[each].state)


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
    judged = JudgedReadings(Conditions(accuracy))
    at = point("SW-01", limit=limit)
    coarse, fine = (parse_resistance(text, Unit.MOHM) for text in ("1.5", "1.50"))
    assert coarse == fine
    found = [judged.verdict(at, each, retest=False) for each in (coarse, fine, coarse, fine)]
    assert found == [Verdict.FAIL, Verdict.PASS] * 2


@given(st.lists(st.tuples(values, st.booleans(), st.integers(0, 2)), max_size=12))
def test_remembered_verdicts_are_those_given_anew(asked: list[tuple[Resistance, bool, int]]) -> None:
    limits = [Limit(maximum=parse_resistance(text, Unit.MOHM)) for text in ("2.5", "0.5", "2.5")]
    points = [point(f"SW-{n}", limit=each, retest=limits[1] if n else None) for n, each in enumerate(limits)]
    judged = JudgedReadings(Conditions())
    for reading, retest, which in asked:
        again = judge_take(points[which], [reading], retest=retest)
        assert judged.verdict(points[which], reading, retest=retest) is again


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
