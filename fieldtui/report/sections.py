"""How far each section of the route is done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Mapping
from dataclasses import dataclass

from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey
from fieldtui.report.unproven import UNPROVEN


@dataclass(frozen=True, slots=True)
class SectionCount:
    """A section, and its points by state. The id is empty for points that name no section."""

    id: str
    title: str
    counts: Mapping[State, int]
    settled: int
    doubted: int = 0  # points whose verdict is in doubt for the meter
    unproven: int = 0  # points of which the trail proves nothing

    @property
    def points(self) -> int:
        return sum(self.counts.values())

    @property
    def is_complete(self) -> bool:
        """Whether every point is settled by what can be relied on."""
        return self.settled == self.points and not self.doubted and not self.unproven


def count_sections(survey: Survey, unproven: Container[str] = ()) -> list[SectionCount]:
    """The sections that have points: the route's in their order, then any that only points name.

    ``unproven`` are points that rest on rows which are not known to be as they were written.
    """
    found: dict[str, Counter[State]] = {section.id: Counter() for section in survey.route.sections}
    settled, doubted, not_proven = Counter[str](), Counter[str](), Counter[str]()
    in_doubt = points_in_doubt(survey)
    for point_id in survey.order.ids:
        section, standing = survey.points[point_id].section, survey.standings[point_id]
        found.setdefault(section, Counter())[standing.state] += 1
        settled[section] += standing.is_settled
        doubted[section] += point_id in in_doubt
        not_proven[section] += point_id in unproven
    titles = {section.id: section.title for section in survey.route.sections}
    return [
        SectionCount(each, titles.get(each, ""), counts, settled[each], doubted[each], not_proven[each])
        for each, counts in found.items()
        if counts
    ]


def state_words(section: SectionCount) -> str:
    """``16 passed, 1 failed, 1 open; 2 of them IN DOUBT; 3 of them UNPROVEN``."""
    told = ", ".join(f"{section.counts[state]} {state.value}" for state in State if section.counts.get(state))
    told += f"; {section.doubted} of them IN DOUBT" if section.doubted else ""
    return told + (f"; {section.unproven} of them {UNPROVEN}" if section.unproven else "")
