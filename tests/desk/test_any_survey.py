"""Random surveys at the desk, on real files, with full disks, stepped clocks and stops in between."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import fold
from fieldtui.desk.reading import read_session
from fieldtui.desk.verifying import verify_session
from fieldtui.errors import BadInputError, DiskFullError, WrongUseError
from fieldtui.files.disk import Disk
from tests.desk.scenes import FULL, FailingDisk, Scene
from tests.strategies import bond_readings, reasons

points = st.sampled_from(["SW-01", "SW-02", "SW-03", "HU-01", "HU-02", "X01"])


class AnySurvey(RuleBasedStateMachine):
    """What a recorder may do in any order. Refusals are fine; a survey that differs from its file is not."""

    @initialize()
    def begin(self) -> None:
        self.root = Path(tempfile.mkdtemp(prefix="survey-"))
        self.disk = FailingDisk()
        self.scene = Scene(self.root, self.disk)
        self.desk = self.scene.begin()
        self.acknowledged = self.desk.rows

    def act(self, deed: Callable[[], Any]) -> None:
        """Do it; refused or not saved, the survey has not moved by more than what was written."""
        before, rows = self.desk.survey, self.desk.rows
        try:
            deed()
        except (BadInputError, WrongUseError, DiskFullError):
            assert (self.desk.survey == before) == (self.desk.rows == rows)
        else:
            assert self.desk.rows > rows
        self.disk.fails = []
        assert self.desk.survey.rows == self.desk.rows >= self.acknowledged
        self.acknowledged = self.desk.rows

    # --- the walk -----------------------------------------------------------------------------

    @rule(reading=bond_readings(), reason=reasons, number=st.none() | st.integers(0, 14))
    def key_a_value(self, reading: Resistance, reason: str, number: int | None) -> None:
        value = f"{reading.digits}{'u' if reading.unit.value == 'uohm' else 'm'}"
        text = value if number is None else f"{number} {value}"
        self.act(lambda: self.desk.record(self.desk.weigh(text), reason))

    @rule(reason=reasons | st.just("not accessible"), filed=st.booleans())
    def attempt(self, reason: str, filed: bool) -> None:
        self.act(lambda: self.desk.attempt(reason, filed=filed))

    @rule(reason=reasons)
    def skip(self, reason: str) -> None:
        self.act(lambda: self.desk.skip(reason))

    @rule(record=st.none() | st.integers(1, 9), reason=reasons)
    def redo(self, record: int | None, reason: str) -> None:
        self.act(lambda: self.desk.redo(reason, record))

    @rule(record=st.integers(1, 9), reason=reasons)
    def void(self, record: int, reason: str) -> None:
        self.act(lambda: self.desk.void(record, reason))

    @rule(record=st.integers(1, 9), reading=bond_readings(), reason=reasons)
    def amend(self, record: int, reading: Resistance, reason: str) -> None:
        self.act(lambda: self.desk.amend_reading(record, reading, reason))

    @rule(point=points)
    def jump(self, point: str) -> None:
        self.act(lambda: self.desk.jump(point))

    @rule()
    def reverse(self) -> None:
        self.act(self.desk.reverse)

    @rule(reason=reasons)
    def insert(self, reason: str) -> None:
        self.act(lambda: self.desk.insert('Spare strap, "µ"', "<= 3", reason))

    @rule(point=points)
    def waive(self, point: str) -> None:
        self.act(lambda: self.desk.waive(point, "chief engineer", "D-7"))

    @rule()
    def pause_and_proceed(self) -> None:
        self.act(self.desk.pause)
        self.act(self.desk.proceed)

    # --- memory ---------------------------------------------------------------------------------

    @rule(number=st.integers(0, 14))
    def check_number(self, number: int) -> None:
        self.act(lambda: self.desk.check_number(number))

    @rule(number=st.integers(0, 14), record=st.none() | st.integers(1, 9), reason=reasons)
    def renumber(self, number: int, record: int | None, reason: str) -> None:
        self.act(lambda: self.desk.renumber(number, reason, record))

    @rule(number=st.integers(0, 14))
    def start_run(self, number: int) -> None:
        self.act(lambda: self.desk.start_run(number))

    # --- the world ------------------------------------------------------------------------------

    @rule(seconds=st.floats(0, 900))
    def time_goes_by(self, seconds: float) -> None:
        self.scene.clock.tick(seconds)

    @rule(seconds=st.floats(-5000, 5000))
    def somebody_sets_the_clock(self, seconds: float) -> None:
        self.scene.clock.step(seconds)

    @rule(call=st.sampled_from(["write", "short"]))
    def the_disk_will_be_full(self, call: str) -> None:
        self.disk.fails = [(call, FULL)]

    @rule()
    def stop_and_resume(self) -> None:
        self.disk.fails = []
        before = self.desk.survey
        self.desk.leave()
        self.desk = self.scene.resume(self.desk.folder)
        after = self.desk.survey
        assert (after.position, after.records, after.standings) == (
            before.position,
            before.records,
            before.standings,
        )
        assert (after.next_record, after.runs, after.order) == (before.next_record, before.runs, before.order)
        self.acknowledged = self.desk.rows

    # --- what must hold -------------------------------------------------------------------------

    @invariant()
    def nothing_on_record_is_impossible(self) -> None:
        assert self.desk.survey.problems == ()

    @invariant()
    def counts_add_up(self) -> None:
        survey = self.desk.survey
        assert sum(survey.counts.values()) == len(survey.points)
        assert sum(len(survey.in_state(state)) for state in State) == len(survey.points)

    @precondition(lambda self: self.desk.survey.run is not None)
    @invariant()
    def memory_numbers_are_those_the_meter_has(self) -> None:
        numbers = [record.number for record in self.desk.survey.records.values() if record.number is not None]
        assert all(number >= 0 for number in numbers)
        assert self.desk.survey.next_number is None or 1 <= self.desk.survey.next_number <= 12

    def teardown(self) -> None:
        if not hasattr(self, "desk"):
            return
        session = read_session(Disk(), self.desk.folder)
        assert session.survey == self.desk.survey
        assert fold(session.facts.route, session.facts.instrument, session.events) == self.desk.survey
        assert verify_session(Disk(), self.desk.folder).problems == ()
        times = [event.time for event in session.events]
        assert times == sorted(times)
        self.desk.leave()
        shutil.rmtree(self.root)


TestAnySurvey = AnySurvey.TestCase
TestAnySurvey.settings = settings(
    max_examples=40, stateful_step_count=30, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
