"""A list of points with a filter: words narrow it, Enter goes to the marked one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.content import Content
from textual.widget import Widget

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.phrases import STATES
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Choices, Row
from fieldtui.ui.widgets.word_line import WordLine

_FOR_THE_LIST = ("up", "down", "pageup", "pagedown", "enter")


class PointsDialog(Dialog[str]):
    """The answer is the id of a point."""

    def __init__(self, heading: str, survey: Survey, points: Sequence[Point]) -> None:
        super().__init__(heading, "Type to narrow the list. Arrows move. Enter goes there. Esc: stay.")
        self._survey = survey
        self._points = list(points)
        self._listed = self._points
        self._filter = WordLine(is_active=True)
        self._choices = Choices([self._row(point) for point in self._points])

    def compose_body(self) -> Iterable[Widget]:
        yield self._filter
        yield self._choices

    def key_pressed(self, event: Key) -> None:
        if event.key not in _FOR_THE_LIST:
            self._filter.press(event)
            self.text_changed()
            return
        index = self._choices.press(event)
        if index is not None:
            self.answer(self._listed[index].id)

    def text_changed(self) -> None:
        words = self._filter.text.casefold().split()
        self._listed = [point for point in self._points if all(word in _haystack(point) for word in words)]
        self._choices.show([self._row(point) for point in self._listed])

    def _row(self, point: Point) -> Row:
        state = STATES[self._survey.standings[point.id].state].as_content().truncate(14, pad=True)
        title = Content("  ").join([shown(point.id, "bold"), shown(point.title), shown(point.where)])
        return Row(None, state + Content(" ") + title)


def _haystack(point: Point) -> str:
    return " ".join((point.id, point.title, point.where, point.section)).casefold()
