"""The point being probed: everything the prober must hear and the recorder must see."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass

from textual.content import Content
from textual.geometry import Size

from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.plan.route import Limit
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Result, limit_for
from fieldtui.core.survey.survey import Survey
from fieldtui.core.verdict.temperature import is_corrected, lacks_temperature
from fieldtui.ui.phrases import DOUBT, STATES, VERDICTS, doubtful, limit_with_source
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.survey_view import SurveyView

LABEL_WIDTH = 9


@dataclass(frozen=True, slots=True)
class Field:
    """A labelled text. Where room is short, the lowest ``weight`` goes first."""

    label: str
    content: Content
    weight: int


class PointCard(SurveyView):
    """Where, A, B, limit, the earlier value, and what to mind."""

    def __init__(self, previous: Mapping[str, Result], doubted: Container[str] = frozenset()) -> None:
        """``doubted`` are the points whose earlier verdict is in doubt for the meter."""
        super().__init__()
        self._previous = previous
        self._doubted = doubted
        self._laid_out = (0, 0)  # lines wanted, and the width they were counted for

    def watch_survey(self) -> None:
        lines, width = self._laid_out
        if self._lines(width) != lines:
            self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        self._laid_out = self._lines(width), width
        return self._laid_out[0]

    def _lines(self, width: int) -> int:
        if self.survey is None:
            return 0
        return sum(len(_wrapped(field, width)) for field in self._fields(self.survey))

    def draw(self, survey: Survey) -> Content:
        return lay_out(self._fields(survey), self.size.width, self.size.height)

    def _fields(self, survey: Survey) -> list[Field]:
        return (
            _fields(survey, self._previous, self._doubted)
            if survey.here is not None
            else _nothing_left(survey)
        )


class ComingPoint(SurveyView):
    """The point after this one."""

    def draw(self, survey: Survey) -> Content:
        label = Content.styled(f" {'NEXT':<{LABEL_WIDTH}}", "bold")
        coming = survey.coming
        if coming is None:
            words = "nothing more after this point" if survey.here is not None else "nothing"
            return label + Content(words)
        text = shown(coming.id, "bold") + Content("  ") + shown(coming.title)
        if coming.where:
            text += Content("  ") + shown(coming.where)
        return (label + text).truncate(max(1, self.size.width), ellipsis=True)


def lay_out(fields: Sequence[Field], width: int, height: int) -> Content:
    """The fields as labelled lines in ``width`` by ``height`` cells.

    Each gets one line; spare lines go to the heaviest that need more; what still does not fit
    ends in an ellipsis.
    """
    heaviest = sorted(fields, key=lambda field: -field.weight)[: max(height, 1)]
    kept = [field for field in fields if field in heaviest]
    wrapped = {field.label: _wrapped(field, width) for field in kept}
    room = {field.label: 1 for field in kept}
    spare = height - len(kept)
    for field in heaviest:
        more = min(spare, len(wrapped[field.label]) - 1)
        room[field.label] += max(0, more)
        spare -= max(0, more)
    return Content("\n").join(
        line
        for field in kept
        for line in _lines(field, wrapped[field.label], room[field.label], _text_width(width))
    )


def _text_width(width: int) -> int:
    return max(width - 1 - LABEL_WIDTH, 4)


def _wrapped(field: Field, width: int) -> list[Content]:
    return field.content.wrap(_text_width(width)) or [Content("")]


def _lines(field: Field, wrapped: list[Content], room: int, width: int) -> list[Content]:
    if len(wrapped) > room:
        rest = Content(" ").join(line.rstrip() for line in wrapped[room - 1 :])
        wrapped = [*wrapped[: room - 1], rest.truncate(width, ellipsis=True)]
    labels = [f" {field.label:<{LABEL_WIDTH}}"] + [" " * (LABEL_WIDTH + 1)] * (len(wrapped) - 1)
    return [Content.styled(label, "bold") + line for label, line in zip(labels, wrapped, strict=True)]


def _fields(survey: Survey, previous: Mapping[str, Result], doubted: Container[str]) -> list[Field]:
    point = survey.here
    assert point is not None  # the caller has looked
    standing = survey.standings[point.id]
    fields = [
        Field("NOW", _headline(survey), 9),
        Field("where", shown(point.where), 5),
        Field("A", shown(point.a), 7),
        Field("B", shown(point.b), 7),
        Field("limit", _limit(survey, limit_for(point, retest=standing.retest)), 8),
        Field("before", _earlier(previous.get(point.id), is_in_doubt=point.id in doubted), 3),
        Field("needs", shown(point.condition), 4),
        Field("prepare", shown(point.prepare), 4),
        Field("CAUTION", shown(point.caution, "bold $text-warning"), 10),
    ]
    return [field for field in fields if field.content.plain]


def _limit(survey: Survey, limit: Limit) -> Content:
    """The limit, and which value is held against it where that is a question."""
    point, celsius = survey.here, survey.route.celsius
    said = limit_with_source(limit, point.unit if point is not None else None)
    if point is not None and limit is point.retest:
        said += Content.styled("  after rework", "bold")
    if point is None or not limit.judges:
        return said
    if lacks_temperature(point, celsius):
        return said + Content.styled("  as measured: no temperature", "bold $text-warning")
    return said + Content(f"  at 20 °C, from {celsius} °C") if is_corrected(point, celsius) else said


def _headline(survey: Survey) -> Content:
    point = survey.here
    assert point is not None
    standing = survey.standings[point.id]
    said = []
    if point.repeats > 1:
        said.append(f"reading {len(survey.take_so_far(point.id)) + 1} of {point.repeats}")
    if standing.retest:
        said.append("retest")
    if point.unplanned:
        said.append("unplanned")
    if standing.attempts:
        said.append(f"{standing.attempts} without a value")
    parts = [shown(point.id, "bold"), shown(point.title, "bold")]
    if point.id in points_in_doubt(survey):
        parts.append(DOUBT.as_content())
    if standing.state is not State.OPEN:
        parts.append(STATES[standing.state].as_content())
    if standing.asked_again and standing.as_left is not None and not standing.retest:
        said.append("taken again")
    if said:
        parts.append(Content.styled(", ".join(said), "$text-accent"))
    return Content("  ").join(parts)


def _earlier(result: Result | None, *, is_in_doubt: bool) -> Content:
    if result is None:
        return Content("")
    mark = doubtful(VERDICTS[result.verdict], is_in_doubt=is_in_doubt)
    return Content("  ").join([shown(result.value), mark.as_content()])


def _nothing_left(survey: Survey) -> list[Field]:
    failed = survey.counts[State.FAILED]
    fields = [Field("NOW", Content.styled("No point is left to take.", "bold"), 9)]
    if failed:
        fields.append(Field("FAILED", Content(f"{failed} of them: o lists them; z: repaired, retest."), 8))
    if survey.counts[State.INACCESSIBLE]:
        count = survey.counts[State.INACCESSIBLE]
        fields.append(Field("NOT READ", Content(f"{count} not accessible: o lists them."), 8))
    if doubted := points_in_doubt(survey):
        fields.append(Field("IN DOUBT", Content(f"{len(doubted)} for the meter: d lists them."), 8))
    fields += [
        Field("to do", Content("d closes the session. t takes the last point again."), 7),
        Field("", Content("q leaves it open, to be resumed later."), 6),
    ]
    return fields
