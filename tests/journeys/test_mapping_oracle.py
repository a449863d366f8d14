"""Which reading belongs to which point: whole surveys with planted slips, held against what really was.

The crew is simulated in :mod:`tests.bench.mapping` and its neighbours, which say by which rules it answers;
``python -m tests.bench.mapping`` runs a thousand such surveys.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from random import Random

import pytest

from fieldtui.core.drift.explanations import Kind
from fieldtui.core.drift.watch import Alarm
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.survey.layers import Layers
from fieldtui.core.survey.position import State
from fieldtui.core.verdict.judging import Verdict
from fieldtui.ui.pages.drift_points import Remedy, offered
from tests.bench.mapping import begin, judge, set_out, simulate
from tests.bench.mapping_audit import audit
from tests.bench.mapping_crew import SimulatedCrew
from tests.bench.mapping_world import Slips, Tally, World, make_meters

NO_SLIPS = Slips().times(0.0)
SEEDS = (*range(9001, 9011), *range(9013, 9017))
MANY = range(9101, 9113)  # with five times as many slips


# --- whole surveys ------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS)
def test_a_whole_survey_holds(seed: int) -> None:
    """Nothing is lost, renumbered, refused or misjudged, and what was called certain is so."""
    outcome = simulate(seed, Slips())
    assert outcome.defects == ()
    assert not [what for what in +outcome.tally if "SURE" in what]


def test_surveys_with_many_slips_hold_and_every_slip_and_remedy_comes_up() -> None:
    total = Tally()
    for seed in MANY:
        outcome = simulate(seed, Slips().times(5))
        assert (seed, outcome.defects) == (seed, ())
        total.update(outcome.tally)
    slips = {what for what in +total if what.startswith("slip: ")}
    assert len(slips) >= 13
    assert total["readings"] > 200
    for what in ("corrections", "explanations followed", "remedies taken", "taken up again", "memory runs"):
        assert total[what] > 3
    assert total["put right by a remedy"] > 3 * total["right ones moved away"]


@pytest.mark.parametrize("seed", [9201, 9202, 9203])
def test_without_slips_everything_is_where_it_belongs(seed: int, tmp_path: Path) -> None:
    """Skips, voids, redoes, second meters and resumes alone put nothing out of place."""
    crew = set_out(seed, NO_SLIPS, tmp_path)
    crew.slips = replace(crew.slips, wrong_skip=0.0)
    crew.walk()
    crew.close_lists()
    assert crew.defects == [] and +judge(crew) == Tally()
    assert crew.misplaced(crew.survey) == set() and len(crew.survey.records) > 15
    crew.desk.leave()


def test_the_oracle_sees_what_is_wrong(tmp_path: Path) -> None:
    """The same survey against another truth, another first form, another verdict."""
    crew = set_out(9202, NO_SLIPS, tmp_path)
    crew.walk()
    crew.close_lists()
    survey, number = crew.survey, next(n for n, each in crew.survey.records.items() if each.is_valid)
    record, truth = survey.records[number], crew.truth[number]
    crew.truth[number] = replace(truth, point="S9-99", shown=Resistance(Decimal("77.7"), Unit.MOHM))
    assert sum(judge(crew).values()) >= 2
    assert not list(audit(survey, crew.keyed))
    keyed = crew.keyed | {number: replace(crew.keyed[number], point="S9-99")}
    assert list(audit(survey, keyed)) == [f"the first form of record {number} is not what was keyed"]
    turned = Verdict.FAIL if record.verdict is Verdict.PASS else Verdict.PASS
    wrong = replace(survey, records=Layers({**survey.records, number: replace(record, verdict=turned)}))
    assert any(f"record {number}, " in each for each in audit(wrong, crew.keyed))
    crew.desk.leave()


# --- what it found ------------------------------------------------------------------------

# ln(mohm) of twelve points in two sections: neighbours differ well, and so do those two apart.
LEVELS = (0.1, 0.9, -0.5, 0.5, -0.9, 0.2, 0.8, -0.3, 0.6, -0.7, 0.0, 0.7)


class UnansweringCrew(SimulatedCrew):
    """Leaves unanswered what the drift watch says."""

    __slots__ = ()

    def watch_drift(self, *, is_resumed: bool) -> None:
        pass


def crew_on(repeats: Sequence[int], root: Path, levels: Sequence[float] = LEVELS) -> SimulatedCrew:
    """A crew without slips on a route of its own, whose last survey read the very same."""
    points = [f"S{1 + at // 6}-{at % 6 + 1:02d}" for at in range(len(levels))]
    world = World(
        Random(1),
        section_of={point: point[:2] for point in points},
        repeats=dict(zip(points, repeats, strict=True)),
        has_steps=False,
        level=dict(zip(points, levels, strict=True)),
    )
    world.last = {point: world.display(level) for point, level in world.level.items()}
    return begin(world, root, make_meters(world), slips=NO_SLIPS, number=1, crew=UnansweringCrew)


def alarms_of(crew: SimulatedCrew, readings: int) -> Iterator[Alarm]:
    """What the drift watch says while so many readings are taken."""
    for _ in range(readings):
        crew.reading()
        if (alarm := crew.desk.lookout.watch.alarm) is not None:
            yield alarm


@pytest.mark.parametrize("repeats", [(2,) * 12, (3,) * 12, (1, 1, 2, 1, 1, 3, 1, 1, 2, 1, 1, 1)])
def test_the_first_remedy_is_right_where_points_are_read_several_times(
    repeats: Sequence[int], tmp_path: Path
) -> None:
    """One point passed over is one point, however many readings it has."""
    crew = crew_on(repeats, tmp_path)
    while crew.survey.position.here != "S1-04":
        crew.reading()
    crew.offset = 1
    alarm = next(alarms_of(crew, 12))
    remedy, *_ = offered(alarm, None)
    assert (remedy.remedy, remedy.by, alarm.cause) == (Remedy.SHIFT, 1, "one point passed over")
    first = min(crew.misplaced(crew.survey))
    crew.desk.shift_points(first, remedy.by, "the values fit there", last=remedy.last)
    assert crew.misplaced(crew.survey) == set()
    crew.desk.leave()


def test_a_reworked_bond_is_not_held_against_the_last_survey(tmp_path: Path) -> None:
    """It was repaired, and now reads what its neighbours do: the probes are where they should be."""
    like_those_beside = LEVELS[3]
    levels = (*LEVELS[:4], math.log(4.7), like_those_beside, *LEVELS[6:])
    crew = crew_on((1,) * 12, tmp_path, levels)
    for _ in range(12):
        crew.reading()
    (failed,) = crew.survey.in_state(State.FAILED)
    crew.world.level[failed.id] = like_those_beside
    crew.desk.rework(failed.id, "cleaned", "D-1")
    crew.desk.jump(failed.id)
    assert list(alarms_of(crew, 1)) == []
    retest = crew.survey.records[13]
    assert (retest.point, retest.retest, retest.verdict) == (failed.id, True, Verdict.PASS)
    crew.desk.leave()


def test_a_memory_cleared_after_a_number_was_used_up_is_followed_without_a_dead_end(tmp_path: Path) -> None:
    """The readings that move to the new run get numbers that the meter has; those before it stay."""
    crew = crew_on((1,) * 12, tmp_path)
    crew.meters = (replace(crew.meters[0], spoiled_number_stays_used=True), crew.meters[1])
    crew.desk.survey = replace(crew.survey, instrument=crew.meters[0])
    for _ in range(7):
        crew.reading()
    filling = crew.fillings[0]
    first = filling.meter.first_number
    filling.entries, filling.next = [], first  # cleared without a word
    crew.desk.attempt("unstable contact", filed=True)
    filling.file(None)
    crew.reading()
    called = filling.last
    assert called == first + 1
    crew.desk.check_number(called)
    restarted = {each.kind: each for each in crew.desk.explain_numbers(called)}[Kind.RESTARTED]
    crew.desk.follow_explanation(restarted.changes[0], "the memory was empty", restarted=True)
    records = crew.survey.records
    assert (records[8].run, records[8].number) == (2, called)
    assert [records[number].run for number in range(1, 8)] == [1] * 7
    assert crew.survey.next_number == called + 1
    crew.desk.leave()
