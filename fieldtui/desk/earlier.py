"""What earlier surveys of the same route and asset left at each point, for whoever reviews a session."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice

from fieldtui.core.between.trend import Sample
from fieldtui.desk.reading import ReadSession
from fieldtui.desk.sources import NONE_STATED, points_of
from fieldtui.desk.workspace import Workspace

MOST = 24  # earlier surveys that are read; a point's history over more is the business of trend


@dataclass(frozen=True, slots=True)
class Earlier:
    """The samples of each point, oldest first, without those of the session in review."""

    samples: Mapping[str, Sequence[Sample]] = field(default_factory=dict)
    surveys: int = 0

    def of(self, point: str) -> Sequence[Sample]:
        return self.samples.get(point, ())


NO_EARLIER = Earlier()


def earlier_of(workspace: Workspace, session: ReadSession) -> Earlier:
    """Read the earlier surveys that lie beside ``session``; those that cannot be read are left out.

    A practice counts only for a practice, and another asset's surveys for none.
    """
    facts = session.facts
    beside = Workspace(workspace.root, workspace.disk, session.folder.parent)
    found: dict[str, list[Sample]] = {}
    surveys = 0
    for each in islice(beside.earlier_sessions(facts.route.name, session.folder.name), MOST):
        if (each.facts.route.asset, each.facts.practice) != (facts.route.asset, facts.practice):
            continue
        surveys += 1
        for sample in samples_of(each):
            found.setdefault(sample.seen.point, []).append(sample)
    return Earlier({point: samples[::-1] for point, samples in found.items()}, surveys)


def samples_of(session: ReadSession) -> list[Sample]:
    """What one session left at each of its points that has a value."""
    return [
        Sample(session.facts.id, seen, seen.reading)
        for seen in points_of(session, NONE_STATED)
        if seen.reading is not None
    ]
