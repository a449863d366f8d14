"""How far the walk has come: every point as a shape, the counts in words, the time left."""

from __future__ import annotations

from itertools import pairwise
from statistics import median

from textual.content import Content

from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.phrases import DOUBT, STATES, Mark
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.survey_view import SurveyView

PACE_READINGS = 20  # the last readings that tell the pace
# Where one shape stands for several points, the first of these among them is shown.
_TELLING = (
    State.FAILED,
    State.SKIPPED,
    State.OPEN,
    State.INACCESSIBLE,
    State.WAIVED,
    State.RECORDED,
    State.PASSED,
)
_HERE = "▲"
_OF_THEM_IN_DOUBT = Mark(DOUBT.shape, "of them IN DOUBT", DOUBT.style)
_SHORT = {  # words of the counts, for a line that is too short for the whole ones
    "of them IN DOUBT": "of them in DOUBT",
    "passed": "pass",
    "FAILED": "FAIL",
    "recorded": "rec.",
    "inaccessible": "no access",
    "skipped": "skip",
}


class Progress(SurveyView):
    """Two lines: the route as a row of shapes, and the counts."""

    def draw(self, survey: Survey) -> Content:
        width = max(10, self.size.width - 2)
        counts = Content(" ") + counts_in_words(survey, width)
        return Content("\n").join(
            [Content(" ") + strip(survey, width), counts.truncate(width + 1, ellipsis=True)]
        )


class SectionList(SurveyView):
    """Each section with how much of it is settled."""

    def draw(self, survey: Survey) -> Content:
        here = survey.here.section if survey.here is not None else None
        rows = [Content.styled("sections", "bold underline")]
        for section in survey.route.sections:
            settled, total = section_progress(survey, section.id)
            mark = "▶" if section.id == here else " "
            row = Content(f"{mark} {settled:>3} of {total:<3} ")
            rows.append(row + shown(section.id, "bold") + Content("  ") + shown(section.title))
        width = max(1, self.size.width - 1)
        return Content("\n").join(row.truncate(width, ellipsis=True) for row in rows)


def strip(survey: Survey, width: int) -> Content:
    """The points in walking order, one shape each or several to a shape, ``▲`` where the walk stands."""
    ids = survey.order.ids
    here = survey.order.place.get(survey.position.here or "", -1)
    per_shape = max(1, -(-len(ids) // width))
    doubted = points_in_doubt(survey)
    shapes = []
    for start in range(0, len(ids), per_shape):
        if start <= here < start + per_shape:
            shapes.append(Content.styled(_HERE, "bold $text-accent"))
            continue
        points = ids[start : start + per_shape]
        states = {survey.standings[point].state for point in points}
        mark = STATES[next(state for state in _TELLING if state in states)]
        if not doubted.isdisjoint(points):
            mark = DOUBT
        shapes.append(Content.styled(mark.shape, mark.style))
    return Content("").join(shapes)


def counts_in_words(survey: Survey, width: int) -> Content:
    """``12 of 48 settled  ✓ 10 passed  ✗ 1 FAILED …``, the section and the time left.

    Where that is longer than ``width`` cells the words grow shorter, and the time left goes last of all
    that is told; every count and the section stay.
    """
    doubted = points_in_doubt(survey)
    counts = [(mark, survey.counts[state]) for state, mark in STATES.items() if survey.counts[state]]
    marks = [*counts, *([(_OF_THEM_IN_DOUBT, len(doubted))] if doubted else [])]
    section = ""
    if survey.here is not None:
        settled, total = section_progress(survey, survey.here.section)
        section = f"{survey.here.section} {settled}/{total}"
    left = time_left(survey)
    # A verdict in doubt settles nothing.
    settled = survey.settled - sum(survey.standings[point].is_settled for point in doubted)
    of = f"{settled} of {len(survey.points)}"
    long = [mark.as_content(count) for mark, count in marks]
    short = [
        Content.styled(f"{mark.shape}{count} {_SHORT.get(mark.word, mark.word)}", mark.style)
        for mark, count in marks
    ]
    ways = (
        ("  ", f"{of} settled", long, f"section {section}", left),
        ("  ", f"{of} settled", long, section, left),
        ("  ", f"{of} settled", short, section, left),
        ("  ", f"{of} settled", short, section, ""),
        (" ", f"{of} settled", short, section, ""),
        (" ", of, short, section, ""),
    )
    for between, settled_words, told, where, time in ways:
        parts = [Content.styled(settled_words, "bold"), *told]
        parts += [shown(where)] if section else []
        parts += [Content(time)] if time else []
        line = Content(between).join(parts)
        if line.cell_length <= width:
            break
    return line


def section_progress(survey: Survey, section: str) -> tuple[int, int]:
    """Settled points and all points of a section; one whose verdict is in doubt is not settled."""
    ids = [id_ for id_, point in survey.points.items() if point.section == section]
    doubted = points_in_doubt(survey)
    return sum(survey.standings[id_].is_settled and id_ not in doubted for id_ in ids), len(ids)


def time_left(survey: Survey) -> str:
    """What is open or skipped, at the middle pace of the last readings; empty while that is not known."""
    records = survey.last_records(PACE_READINGS)
    gaps = [after.time - before.time for before, after in pairwise(records)]
    if len(gaps) < 3 or not survey.to_take:
        return ""
    seconds = median(gap.total_seconds() for gap in gaps) * survey.to_take
    minutes = max(1, round(seconds / 60))
    return f"{minutes} min left" if minutes < 90 else f"{minutes / 60:.1f} h left"
