"""Which reading belongs to which point, at the end of whole simulated surveys. Run with::

    python -m tests.bench.mapping                        # 1,000 surveys; some two minutes on two free cores
    python -m tests.bench.mapping --surveys 200 --seed 7000 --factor 3

Each survey goes through the public desk: readings, attempts, skips, redoes, voids, insertions, number checks,
drift remedies, memory lists from files and keyed, second meters, leaving and taking up again. Slips are
planted at stated rates (:class:`mapping_world.Slips`, times ``--factor``). What was probed, shown and filed
is kept apart from it, and in the end each record is held against it. What is wrong is sorted:

- ``SURE``: reconcile called it certain, and the list could have told otherwise;
- ``open``: the crew was told that it is open;
- ``unseen``: nothing there could tell (never filed, no list, no earlier survey, too short a stretch).

Anything that must hold of every survey and did not is a defect, printed with its seed; the exit code is 1.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from random import Random

from fieldtui.core.plan.session import Crew
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.brief import Brief
from fieldtui.core.survey.survey import fold
from fieldtui.desk.opening import begin_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.verifying import verify_session
from fieldtui.desk.workspace import Workspace
from tests.bench.mapping_audit import audit
from tests.bench.mapping_crew import SimulatedCrew
from tests.bench.mapping_meter import ALONE, CERTAIN, STRANGE, UNDECIDED
from tests.bench.mapping_world import (
    STANDARD,
    Filling,
    Slips,
    Tally,
    Truth,
    World,
    make_meters,
    make_world,
    route_text,
)
from tests.desk.scenes import QuickDisk, SetClock

_WITH_MEMORY, _WITH_HISTORY, _ASKING = 0.92, 0.9, 0.7  # shares of the surveys
_OPEN = (UNDECIDED, STRANGE)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one survey."""

    seed: int
    tally: Tally
    defects: tuple[str, ...]


def simulate(seed: int, slips: Slips) -> Outcome:
    """One survey from its seed."""
    with tempfile.TemporaryDirectory(prefix="mapping-") as root:
        crew = set_out(seed, slips, Path(root))
        crew.walk()
        crew.close_lists()
        crew.defects += audit(crew.survey, crew.keyed)
        crew.defects += _on_disk(crew)
        crew.tally.update(judge(crew))
        crew.desk.leave()
        return Outcome(seed, crew.tally, tuple(dict.fromkeys(crew.defects)))


def set_out(seed: int, slips: Slips, root: Path) -> SimulatedCrew:
    """A crew at the first point, mostly with the survey before this one on record."""
    chance = Random(seed)
    world = make_world(chance)
    meters = make_meters(world)
    has_history, has_memory = chance.random() < _WITH_HISTORY, chance.random() < _WITH_MEMORY
    number = meters[0].first_number + chance.choice((0, 0, 0, chance.randint(1, 9)))
    crew = begin(
        world,
        root,
        meters,
        slips=slips,
        number=number if has_memory else None,
        check_every=chance.choice((0, 5, 10)),
        has_history=has_history,
    )
    crew.is_asking = chance.random() < _ASKING
    return crew


def begin(
    world: World,
    root: Path,
    meters: tuple[Instrument, Instrument],
    *,
    slips: Slips,
    number: int | None,
    check_every: int = 0,
    has_history: bool = True,
    crew: type[SimulatedCrew] = SimulatedCrew,
) -> SimulatedCrew:
    """A session on the route of ``world`` in ``root``; ``number`` is the first memory number, if any."""
    (root / "routes").mkdir()
    (root / "routes" / "hull.toml").write_text(route_text(world, check_every), encoding="utf-8")
    workspace, clock = Workspace(root, QuickDisk()), SetClock()
    if has_history:
        _survey_before(workspace, clock, world, meters[0])
    desk = begin_session(workspace, workspace.load_route("hull"), _brief(meters[0], number), clock)
    desk.meters_on_hand = lambda: {each.id: each for each in meters}
    fillings = [Filling(meters[0], number, run=1)] if number is not None else []
    return crew(
        slips=slips,
        chance=world.chance,
        world=world,
        workspace=workspace,
        clock=clock,
        meters=meters,
        desk=desk,
        fillings=fillings,
    )


def _brief(meter: Instrument, number: int | None) -> Brief:
    return Brief("WO-1", Crew(prober="Ben", recorder="Ana"), meter, number, standard=STANDARD)


def _survey_before(workspace: Workspace, clock: SetClock, world: World, meter: Instrument) -> None:
    desk = begin_session(workspace, workspace.load_route("hull"), _brief(meter, None), clock)
    while (here := desk.survey.here) is not None:
        weighed = desk.weigh(f"{world.last[here.id].digits}m")
        desk.record(weighed, "read back" if weighed.doubts else "")
    desk.close("done")
    desk.leave()
    clock.tick(40 * 86_400)


def _on_disk(crew: SimulatedCrew) -> Iterator[str]:
    session = read_session(crew.workspace.disk, crew.desk.folder)
    folded = fold(session.facts.route, session.facts.instrument, session.events)
    if not session.survey == folded == crew.survey:
        yield "the files hold another survey"
    # It is not closed yet, and that is said; nothing else may be.
    yield from (problem.what for problem in verify_session(crew.workspace.disk, crew.desk.folder).problems)


# --- what is wrong in the end -------------------------------------------------------------


def judge(crew: SimulatedCrew) -> Tally:
    """Each record against what really was: counted by what is wrong, and whether anybody could know."""
    found = Tally()
    is_alarmed = bool(crew.desk.lookout.standing)
    for number, record in crew.survey.records.items():
        truth, said = crew.truth[number], crew.said.get(number, "no list")
        how = _knowable(said, can_tell=truth.is_listed and _is_in_list(crew, record.run, truth))
        if record.is_valid and record.point != truth.point:
            found[f"point wrong: {'unseen' if crew.is_asking and not is_alarmed else 'open'}"] += 1
        if record.is_valid and record.reading.ohms != truth.shown.ohms:
            found[f"value wrong: {how}, {said}"] += 1
        if not _is_numbered_right(crew, number) and said != "no list":
            found[f"number wrong: {how}, {said}"] += 1
    return found


def _knowable(said: str, *, can_tell: bool) -> str:
    """``can_tell``: the reading stands, as it was shown, in the list of the run that the record has it in."""
    if said in _OPEN:
        return "open"
    return "SURE" if said in (CERTAIN, ALONE) and can_tell else "unseen"


def _is_in_list(crew: SimulatedCrew, run: int | None, truth: Truth) -> bool:
    """Not where the meter's entry is of another run, or was keyed wrong into the list."""
    if truth.filling is None or truth.entry is None or truth.filling.run != run:
        return False
    return crew.listed.get((truth.filling.run, truth.entry.number)) == truth.shown


def _is_numbered_right(crew: SimulatedCrew, number: int) -> bool:
    """Whether a record has the memory number it was filed under, or that of an entry that shows the same."""
    record, truth = crew.survey.records[number], crew.truth[number]
    if truth.filling is None or truth.entry is None or not truth.is_listed:
        held = [each for each in crew.fillings if each.run == record.run]
        same = (each for each in held[0].entries if each.number == record.number) if held else iter(())
        shown = next(same, None)
        return record.number is None or (shown is not None and shown.shown == record.reading)
    there = next((each for each in truth.filling.entries if each.number == record.number), None)
    is_alike = there is not None and (there is truth.entry or there.shown == truth.shown)
    return record.run == truth.filling.run and is_alike


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--surveys", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--factor", type=float, default=1.0, help="times the stated rates")
    given = parser.parse_args(arguments)
    tally, is_bad = Tally(), False
    seeds = range(given.seed, given.seed + given.surveys)
    with ProcessPoolExecutor(2) as pool:
        for outcome in pool.map(partial(simulate, slips=Slips().times(given.factor)), seeds, chunksize=4):
            tally.update(outcome.tally)
            is_bad = is_bad or bool(outcome.defects)
            for what in +outcome.tally:
                if "SURE" in what:
                    sys.stdout.write(f"seed {outcome.seed}: {what}\n")
            for defect in outcome.defects:
                sys.stdout.write(f"DEFECT  seed {outcome.seed}: {defect}\n")
    for what, count in sorted(tally.items()):
        if count:
            sys.stdout.write(f"{count:8,}  {what}\n")
    return int(is_bad)


if __name__ == "__main__":
    sys.exit(main())
