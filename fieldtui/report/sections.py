"""How far each section of the route is done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey


@dataclass(frozen=True, slots=True)
class SectionCount:
    """A section, and its points by state. The id is empty for points that name no section."""

    id: str
    title: str
    counts: Mapping[State, int]
    settled: int

    @property
    def points(self) -> int:
        return sum(self.counts.values())

    @property
    def is_complete(self) -> bool:
        return self.settled == self.points


def count_sections(survey: Survey) -> list[SectionCount]:
    """The sections that have points: the route's in their order, then any that only points name."""
    found: dict[str, Counter[State]] = {section.id: Counter() for section in survey.route.sections}
    settled = Counter[str]()
    for point_id in survey.order.ids:
        section, standing = survey.points[point_id].section, survey.standings[point_id]
        found.setdefault(section, Counter())[standing.state] += 1
        settled[section] += standing.is_settled
    titles = {section.id: section.title for section in survey.route.sections}
    return [
        SectionCount(each, titles.get(each, ""), counts, settled[each])
        for each, counts in found.items()
        if counts
    ]


def state_words(section: SectionCount) -> str:
    """``16 passed, 1 failed, 1 open``."""
    return ", ".join(f"{section.counts[state]} {state.value}" for state in State if section.counts.get(state))
