"""A list of points with a filter: words narrow it, Enter goes to the marked one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual import events, on
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input

from fieldtui.core.route import Point
from fieldtui.core.survey import Survey
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.phrases import STATES
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Choices, Row
from fieldtui.ui.widgets.text_line import TextLine

_MOVES = ("up", "down", "pageup", "pagedown")


class PointsDialog(Dialog[str]):
    """The answer is the id of a point."""

    AUTO_FOCUS = "TextLine"

    def __init__(self, heading: str, survey: Survey, points: Sequence[Point]) -> None:
        super().__init__(heading, "Type to narrow the list. Arrows move. Enter goes there. Esc: stay.")
        self._survey = survey
        self._points = list(points)
        self._listed = self._points

    def compose_body(self) -> Iterable[Widget]:
        yield TextLine()
        yield Choices([self._row(point) for point in self._points])

    def on_key(self, event: events.Key) -> None:
        if event.key in _MOVES:
            event.stop()
            self.query_one(Choices).move(event.key)

    @on(Input.Changed)
    def _filter_changed(self, event: Input.Changed) -> None:
        event.stop()
        words = event.value.casefold().split()
        self._listed = [point for point in self._points if all(word in _haystack(point) for word in words)]
        self.query_one(Choices).show([self._row(point) for point in self._listed])

    @on(Input.Submitted)
    def _filter_keyed(self, event: Input.Submitted) -> None:
        event.stop()
        self.query_one(Choices).pick_marked()

    @on(Choices.RowChosen)
    def _row_chosen(self, event: Choices.RowChosen) -> None:
        event.stop()
        self.dismiss(self._listed[event.index].id)

    def _row(self, point: Point) -> Row:
        state = STATES[self._survey.standings[point.id].state].as_content().truncate(14, pad=True)
        title = Content("  ").join([shown(point.id, "bold"), shown(point.title), shown(point.where)])
        return Row(None, state + Content(" ") + title)


def _haystack(point: Point) -> str:
    return " ".join((point.id, point.title, point.where, point.section)).casefold()
