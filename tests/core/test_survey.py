"""The survey as a fold: numbers never reused, checks when due, nothing impossible has an effect."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.plan.inserted import format_definition
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from tests.core.test_fold_ways import long_way
from tests.core.walks import METER, START, Walk, point
from tests.strategies import bond_readings, limits, routes

SMALL = replace(METER, memory_size=3)

# --- record numbers -----------------------------------------------------------------------------


def test_records_are_counted_on_over_voids_and_redos() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").read().void(1).read().redo("SW-02").read().read()
    assert list(walk.survey.records) == [1, 2, 3, 4]
    assert walk.survey.next_record == 5
    assert [record.record for record in walk.survey.last_records(2)] == [3, 4]
    assert walk.survey.last_records(9) == list(walk.survey.records.values())
    assert walk.survey.last_records(0) == []


def test_a_missing_record_number_is_told_and_no_number_is_given_twice() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").read().read(record=5).read()
    assert list(walk.survey.records) == [1, 5, 6]
    assert walk.problems == ["record 5 stands where 2 is next"]
    assert [record.record for record in walk.survey.last_records(2)] == [5, 6]
    assert walk.survey.next_record == 7


def test_a_record_number_that_stands_twice_is_told_and_the_first_one_kept() -> None:
    walk = Walk("SW-01", "SW-02").read("1.1").read("1.2", record=1)
    assert walk.problems == ["record 1 stands where 2 is next"]
    assert walk.record(1).reading.digits == "1.1"
    assert (walk.state("SW-02"), walk.survey.next_record) == ("open", 2)


def test_a_reading_of_a_point_that_is_not_there_uses_up_its_number() -> None:
    walk = Walk("SW-01", "SW-02")
    walk.tell(ev.ReadingTaken, record=1, point="XX-9", reading=mohm("1"), verdict=Verdict.PASS)
    walk.read()
    assert walk.problems == ["point XX-9 is not on the route"]
    assert list(walk.survey.records) == [2]
    assert walk.state("SW-01") == "passed"


# --- memory numbers -----------------------------------------------------------------------------


def test_every_reading_takes_the_next_memory_number() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").start_run(17).read().read()
    assert [walk.record(number).number for number in (1, 2)] == [17, 18]
    assert walk.survey.next_number == 19


def test_an_attempt_uses_a_number_only_where_the_meter_filed_it() -> None:
    walk = Walk("SW-01").start_run().tell(ev.AttemptFailed, point="SW-01", reason="unstable contact")
    assert walk.survey.next_number == 1
    walk.tell(ev.AttemptFailed, point="SW-01", reason="unstable contact", run=1, number=1)
    assert walk.survey.next_number == 2


def test_a_full_memory_has_no_next_number_until_the_next_run() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04", instrument=SMALL).start_run().read().read().read()
    assert walk.survey.run is not None
    assert (walk.survey.next_number, walk.survey.run.is_full, walk.survey.run.filed_last) == (None, True, 3)
    walk.start_run().read()
    assert (walk.record(4).run, walk.record(4).number, walk.survey.next_number) == (2, 1, 2)


def test_without_a_run_readings_have_no_memory_number() -> None:
    walk = Walk("SW-01", "SW-02").read()
    assert (walk.record(1).run, walk.record(1).number, walk.survey.next_number) == (None, None, None)


def test_renumbering_moves_the_coming_ones_only_or_from_a_record_on() -> None:
    walk = Walk(*(f"SW-{n:02d}" for n in range(1, 8))).start_run().read().read().read()
    walk.tell(ev.Renumbered, run=1, number=6, reason="stored twice")
    assert [walk.record(n).number for n in (1, 2, 3)] == [1, 2, 3]
    assert walk.read().record(4).number == 6
    walk.tell(ev.Renumbered, run=1, number=8, reason="stored twice", ref=3)
    assert [walk.record(n).number for n in (1, 2, 3, 4)] == [1, 2, 4, 7]
    assert walk.survey.next_number == 8
    original = walk.record(3).original
    assert original is not None
    assert original.number == 3
    assert walk.problems == []


def test_renumbering_leaves_other_runs_and_unfiled_readings_alone() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04", "SW-05").start_run().read().start_run(1).read().read()
    walk.tell(ev.Unfiled, ref=2, reason="not kept")
    walk.tell(ev.Renumbered, run=2, number=2, reason="not kept", ref=1)
    assert [(walk.record(n).run, walk.record(n).number) for n in (1, 2, 3)] == [(1, 1), (2, None), (2, 1)]


# --- number checks ------------------------------------------------------------------------------


def test_a_check_is_due_after_so_many_readings() -> None:
    walk = Walk(*(f"SW-{n:02d}" for n in range(1, 9)), check_every=3).start_run().read().read()
    assert walk.survey.check_due == ""
    walk.read()
    assert walk.survey.check_due == "3 readings since the last"
    walk.read().skip().read()
    assert walk.survey.check_due == "5 readings since the last"  # it counts on, whatever else there is
    walk.tell(ev.NumberChecked, run=1, number=5, verdict=ev.Agreement.AGREE, ref=5)
    assert (walk.survey.check_due, walk.survey.readings_unchecked) == ("", 0)


@pytest.mark.parametrize(
    ("kind", "facts", "why"),
    [
        (ev.Skipped, {"point": "SW-02", "reason": "paint"}, "after a skip"),
        (ev.RedoAsked, {"point": "SW-01", "reason": "tips"}, "after a redo"),
        (ev.Voided, {"point": "SW-01", "ref": 1, "reason": "clip"}, "after a void"),
        (ev.Proceeded, {}, "after a pause"),
        (ev.Opened, {}, "the session was opened again"),
    ],
)
def test_a_check_is_due_after_every_interruption(
    kind: type[ev.Event], facts: dict[str, Any], why: str
) -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").start_run().read().tell(kind, **facts)
    assert walk.survey.check_due == why
    without_memory = Walk("SW-01", "SW-02", "SW-03").read().tell(kind, **facts)
    assert without_memory.survey.check_due == ""


@pytest.mark.parametrize(
    ("minutes", "why"), [(10, ""), (10.1, "after a long gap"), (300, "after a long gap")]
)
def test_a_check_is_due_after_a_long_gap_between_two_readings(minutes: float, why: str) -> None:
    """Longer than ten minutes (common practice, no source); a gap before the first reading is none."""
    for is_filed in (True, False):
        walk = Walk("SW-01", "SW-02", "SW-03")
        walk = walk.start_run() if is_filed else walk
        late = START + timedelta(hours=1)
        walk.read(time=late)
        assert walk.survey.check_due == ""
        walk.read(time=late + timedelta(minutes=minutes))
        assert walk.survey.check_due == (why if is_filed else "")
        assert walk.record(2).is_disturbed == bool(why)  # a slip is likelier there


def test_a_check_that_differs_stays_out_of_step_until_it_is_explained() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").start_run().read()
    differs = {"run": 1, "number": 2, "verdict": ev.Agreement.DIFFER, "ref": 1}
    assert walk.tell(ev.NumberChecked, **differs).survey.out_of_step
    assert walk.read().survey.out_of_step
    assert not walk.tell(ev.Renumbered, run=1, number=4, reason="stored twice").survey.out_of_step
    assert walk.tell(ev.NumberChecked, **differs).survey.out_of_step
    assert not walk.start_run().survey.out_of_step


# --- events that cannot be true -----------------------------------------------------------------


def mohm(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


@pytest.mark.parametrize(
    ("kind", "facts", "what"),
    [
        (ev.Skipped, {"point": "XX", "reason": "r"}, "point XX is not on the route"),
        (ev.RedoAsked, {"point": "XX", "reason": "r"}, "point XX is not on the route"),
        (ev.Jumped, {"point": "XX"}, "point XX is not on the route"),
        (ev.SectionReversed, {"point": "XX"}, "point XX is not on the route"),
        (ev.AttemptFailed, {"point": "XX", "reason": "r"}, "point XX is not on the route"),
        (ev.Reworked, {"point": "XX", "reason": "r"}, "point XX is not on the route"),
        (ev.Waived, {"point": "XX", "reason": "r", "ref": "D"}, "point XX is not on the route"),
        (ev.Voided, {"point": "SW-01", "ref": 9, "reason": "r"}, "record 9 does not exist at this row"),
        (ev.Unfiled, {"ref": 9, "reason": "r"}, "record 9 does not exist at this row"),
        (ev.Amended, {"ref": 9, "reason": "r"}, "record 9 does not exist at this row"),
        (ev.Amended, {"ref": 1, "reason": "r", "point": "XX"}, "point XX is not on the route"),
        (
            ev.Renumbered,
            {"run": 1, "number": 7, "reason": "r", "ref": 9},
            "record 9 does not exist at this row",
        ),
        (
            ev.Renumbered,
            {"run": 2, "number": 7, "reason": "r"},
            "numbers of memory run 2 are moved outside it",
        ),
        (
            ev.PointInserted,
            {"point": "SW-02", "ref": "", "reason": "r", "definition": "{}"},
            "point SW-02 is inserted, but is there already",
        ),
        (
            ev.PointInserted,
            {"point": "X01", "ref": "", "reason": "r", "definition": "{}"},
            "inserted point X01: unit '' is not one of uohm, mohm, ohm, kohm, Mohm",
        ),
    ],
)
def test_what_cannot_be_true_is_told_and_has_no_effect(
    kind: type[ev.Event], facts: dict[str, Any], what: str
) -> None:
    walk = Walk("SW-01", "SW-02").start_run().read()
    before = walk.survey
    walk.tell(kind, **facts)
    assert walk.problems == [what]
    assert walk.survey.problems[0].where == "trail.csv, row 3"
    assert walk.survey.problems[0].remedy
    same = ("rows", "recent", "last_time", "last_change")
    unchanged = replace(walk.survey, **{name: getattr(before, name) for name in same}, problems=())
    assert unchanged == before


@pytest.mark.parametrize("kind", [ev.ReadingsShifted, ev.SectionMirrored])
def test_readings_are_reassigned_past_numbers_that_are_missing(kind: type[ev.Event]) -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04").read().read(record=3)
    walk.tell(kind, ref=1, record=3, point="SW-03", reason="parted")
    assert walk.problems == ["record 3 stands where 2 is next"]
    assert [walk.record(number).point for number in (1, 3)] in (["SW-03", "SW-04"], ["SW-04", "SW-03"])


def test_a_second_void_is_told() -> None:
    walk = Walk("SW-01").read().void(1).void(1)
    assert walk.problems == ["record 1 is void already"]


def test_a_verdict_that_its_limit_does_not_give_is_told() -> None:
    walk = Walk("SW-01", "SW-02").read("2.6", verdict=Verdict.PASS)
    assert walk.problems == ["record 1: the verdict said is pass, the limit gives fail"]
    assert (walk.record(1).said, walk.record(1).verdict, walk.state("SW-01")) == (
        Verdict.PASS, Verdict.FAIL, "failed",
    )  # fmt: skip
    walk.tell(ev.Amended, ref=1, reason="slip", reading=mohm("2.4"), verdict=Verdict.FAIL)
    assert walk.problems[1] == "amended record 1: the verdict said is fail, the limit gives pass"


def test_a_row_after_the_close_is_told() -> None:
    walk = Walk("SW-01").tell(ev.Closed).tell(ev.Noted, note="late")
    assert walk.survey.closed
    assert walk.problems == ["a note row stands after the close"]


def test_a_run_out_of_turn_and_a_number_of_no_run_are_told() -> None:
    walk = Walk("SW-01", "SW-02").tell(ev.RunStarted, run=3, number=1)
    walk.read(run=1, number=5)
    assert walk.problems == ["memory run 3 follows 0", "memory run 1 has not begun"]
    assert walk.record(1).number == 5


def test_an_empty_route_leaves_nothing_to_take() -> None:
    walk = Walk()
    assert (walk.survey.here, walk.survey.coming, walk.survey.settled) == (None, None, 0)
    walk.insert(point("X01", section=""))
    assert walk.path() == ["X01"]


def test_the_last_answer_to_each_item_of_the_brief_counts() -> None:
    walk = Walk("SW-01").tell(ev.Briefed, ref="battery", verdict=ev.Answer.BAD)
    walk.tell(ev.Briefed, ref="battery", verdict=ev.Answer.GOOD)
    assert walk.survey.brief["battery"].verdict is ev.Answer.GOOD


def test_a_pause_lasts_until_the_crew_goes_on() -> None:
    walk = Walk("SW-01").tell(ev.Paused, reason="rain")
    assert walk.survey.paused
    assert not walk.tell(ev.Proceeded).survey.paused


# --- any legal walk -----------------------------------------------------------------------------


class AnyWalk(RuleBasedStateMachine):
    """Random legal events on a random route: what must hold after every one of them."""

    @initialize(route=routes(), size=st.sampled_from([0, 2, 5]))
    def begin(self, route: Any, size: int) -> None:
        self.instrument = Instrument(id="m", title="m", memory_size=size)
        self.route = route
        self.events: list[ev.Event] = []
        self.survey: Survey = fold(route, self.instrument)

    def tell(self, kind: type[ev.Event], **facts: Any) -> None:
        event = kind(time=START + timedelta(seconds=len(self.events)), by="Ana", **facts)
        self.events.append(event)
        self.before, self.survey = self.survey, self.survey.after(event)

    def any_point(self, data: st.DataObject) -> str:
        return data.draw(st.sampled_from(self.survey.order.ids))

    at_a_point = precondition(lambda self: self.survey.here is not None)
    has_records = precondition(lambda self: self.survey.records)

    @at_a_point
    @rule(reading=bond_readings())
    def read(self, reading: Resistance) -> None:
        here = self.survey.position.here
        assert here is not None
        run, number = self.survey.run, self.survey.next_number
        take = len(self.survey.take_so_far(here))
        was = self.survey.position
        self.tell(
            ev.ReadingTaken,
            record=self.survey.next_record,
            point=here,
            reading=reading,
            verdict=self.survey.would_say(here, reading),
            run=run.run if run is not None and number is not None else None,
            number=number,
        )
        # Enough readings, and the walk goes on; too few, and it stays.
        stays = take + 1 < self.survey.points[here].repeats
        assert (self.survey.position == was) == stays

    @at_a_point
    @rule(reason=st.sampled_from(["unstable contact", "not accessible"]))
    def attempt(self, reason: str) -> None:
        self.tell(ev.AttemptFailed, point=self.survey.position.here, reason=reason)

    @at_a_point
    @rule()
    def skip(self) -> None:
        self.tell(ev.Skipped, point=self.survey.position.here, reason="paint")

    @has_records
    @rule(data=st.data())
    def redo(self, data: st.DataObject) -> None:
        record = self.survey.records[data.draw(st.sampled_from(sorted(self.survey.records)))]
        was = self.survey.position.here
        self.tell(ev.RedoAsked, point=record.point, ref=record.record, reason="tips")
        assert self.survey.position.here == record.point
        assert was == record.point or self.survey.position.back[-1] == was

    @has_records
    @rule(data=st.data())
    def void(self, data: st.DataObject) -> None:
        valid = [record for record in self.survey.records.values() if record.is_valid]
        if valid:
            record = data.draw(st.sampled_from(valid))
            self.tell(ev.Voided, ref=record.record, point=record.point, reason="clip")

    @has_records
    @rule(data=st.data(), reading=bond_readings())
    def amend(self, data: st.DataObject, reading: Resistance) -> None:
        record = data.draw(st.sampled_from(sorted(self.survey.records)))
        self.tell(ev.Amended, ref=record, reading=reading, reason="slip")

    @has_records
    @rule(data=st.data())
    def move(self, data: st.DataObject) -> None:
        record = data.draw(st.sampled_from(sorted(self.survey.records)))
        self.tell(ev.Amended, ref=record, point=self.any_point(data), reason="shifted")

    @rule(data=st.data())
    def jump(self, data: st.DataObject) -> None:
        self.tell(ev.Jumped, point=self.any_point(data))

    @rule(data=st.data(), kind=st.sampled_from([ev.Waived, ev.Reworked]))
    def settle_on_paper(self, data: st.DataObject, kind: type[ev.Event]) -> None:
        self.tell(kind, point=self.any_point(data), reason="chief engineer", ref="D-7")

    @rule(limit=limits())
    def insert(self, limit: Any) -> None:
        new = point(f"X{len(self.survey.points):02d}", section="A", limit=limit)
        here = self.survey.position.here or ""
        self.tell(ev.PointInserted, point=new.id, ref=here, reason="r", definition=format_definition(new))

    @at_a_point
    @rule()
    def reverse(self) -> None:
        self.tell(ev.SectionReversed, point=self.survey.position.here)

    @rule(number=st.integers(1, 3))
    def start_run(self, number: int) -> None:
        self.tell(ev.RunStarted, run=len(self.survey.runs) + 1, number=number)

    @has_records
    @rule(data=st.data(), ahead=st.integers(0, 3), from_record=st.booleans())
    def renumber(self, data: st.DataObject, ahead: int, from_record: bool) -> None:
        run = self.survey.run
        if run is not None:
            ref = data.draw(st.sampled_from(sorted(self.survey.records))) if from_record else None
            self.tell(ev.Renumbered, run=run.run, number=run.next_number + ahead, reason="twice", ref=ref)

    @has_records
    @rule(data=st.data())
    def unfile(self, data: st.DataObject) -> None:
        self.tell(ev.Unfiled, ref=data.draw(st.sampled_from(sorted(self.survey.records))), reason="not kept")

    @rule(kind=st.sampled_from([ev.Paused, ev.Proceeded, ev.Opened, ev.Noted]))
    def interrupt(self, kind: type[ev.Event]) -> None:
        self.tell(kind)

    @has_records
    @rule(data=st.data(), kind=st.sampled_from([ev.ReadingsShifted, ev.SectionMirrored]))
    def reassign(self, data: st.DataObject, kind: type[ev.Event]) -> None:
        refs = sorted(data.draw(st.sampled_from(sorted(self.survey.records))) for _ in range(2))
        self.tell(kind, ref=refs[0], record=refs[1], point=self.any_point(data), reason="parted")
        if self.survey.problems:  # to where there is no point, or over the end of a section
            assert self.survey.records == self.before.records
            del self.events[-1]
            self.survey = self.before

    # --- what must hold ---------------------------------------------------------------------

    @invariant()
    def nothing_legal_is_a_problem(self) -> None:
        assert self.survey.problems == ()

    @invariant()
    def every_point_is_in_one_state_and_the_counts_add_up(self) -> None:
        survey = self.survey
        assert set(survey.standings) == set(survey.points) == set(survey.order.ids)
        assert len(survey.order.ids) == len(survey.points)
        states = [standing.state for standing in survey.standings.values()]
        assert dict(survey.counts) == {state: states.count(state) for state in State}
        listed = [each.id for state in State for each in survey.in_state(state)]
        assert sorted(listed) == sorted(survey.points)

    @invariant()
    def every_record_belongs_to_one_point(self) -> None:
        survey = self.survey
        kept = sorted(number for standing in survey.standings.values() for number in standing.records)
        assert kept == sorted(survey.records) == list(range(1, survey.next_record))
        for point_id, standing in survey.standings.items():
            assert all(survey.records[number].point == point_id for number in standing.records)
            for result in (standing.as_found, standing.as_left):
                if result is not None:  # results hold the records as they stand now
                    assert all(record == survey.records[record.record] for record in result.records)
                    assert all(record.is_valid for record in result.records)

    @invariant()
    def the_take_under_way_wants_another_reading(self) -> None:
        for point_id, wanted in self.survey.points.items():
            assert len(self.survey.take_so_far(point_id)) < wanted.repeats

    @invariant()
    def the_walk_ends_only_when_every_point_is_settled(self) -> None:
        unsettled = self.survey.counts[State.OPEN] + self.survey.counts[State.SKIPPED]
        if self.survey.here is None:
            assert unsettled == 0
        assert self.survey.to_take == unsettled
        standings = self.survey.standings.values()
        assert self.survey.settled == sum(standing.is_settled for standing in standings)
        settled = {standing.state for standing in standings if standing.is_settled}
        assert settled <= {State.PASSED, State.RECORDED, State.WAIVED, State.FAILED}
        for standing in standings:  # what was asked for again shows, whatever was read before
            if standing.asked_again:
                assert standing.state not in (State.PASSED, State.RECORDED)
                assert not standing.is_settled or standing.state is State.WAIVED

    def teardown(self) -> None:
        if hasattr(self, "survey"):  # else the first draw was cut off
            assert fold(self.route, self.instrument, self.events) == self.survey
            assert long_way(self.route, self.events, self.instrument) == self.survey
            self._the_walk_can_be_finished()

    def _the_walk_can_be_finished(self) -> None:
        """Good readings from here on lead through everything that is left, and then to the end."""
        left = sum(self.survey.points[each].repeats for each in self.survey.points) + len(
            self.survey.position.back
        )
        for _ in range(left + 2 * len(self.survey.points)):
            here = self.survey.position.here
            if here is None:
                return
            reading = parse_resistance("1", Unit.MOHM)
            self.tell(
                ev.ReadingTaken,
                record=self.survey.next_record,
                point=here,
                reading=reading,
                verdict=self.survey.would_say(here, reading),
            )
        raise AssertionError(f"the walk never ends: {self.survey.position}")


TestAnyWalk = AnyWalk.TestCase
TestAnyWalk.settings = settings(
    max_examples=100, stateful_step_count=30, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
