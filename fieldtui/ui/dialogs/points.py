"""A list of points with a filter: words narrow it, Enter goes to the marked one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.content import Content
from textual.widget import Widget

from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.measurement.ohms import no_value_called
from fieldtui.core.plan.route import Point
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Standing
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.held_keys import Pressed
from fieldtui.ui.phrases import STATES, doubtful
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Choices, Row
from fieldtui.ui.widgets.moves import MOVES
from fieldtui.ui.widgets.word_line import WordLine

_FOR_THE_LIST = MOVES - {"home", "end"} | {"enter"}


class PointsDialog(Dialog[str]):
    """The answer is the id of a point."""

    def __init__(self, heading: str, survey: Survey, points: Sequence[Point]) -> None:
        super().__init__(
            heading, "Type to narrow. Arrows, +, * move. Enter goes there. Esc, or - first: stay."
        )
        self._survey = survey
        self._doubted = points_in_doubt(survey)
        self._points = list(points)
        self._listed = self._points
        self._filter = WordLine(is_active=True)
        self._choices = Choices([self._row(point) for point in self._points])

    def compose_body(self) -> Iterable[Widget]:
        yield self._filter
        yield self._choices

    @property
    def minus_leaves(self) -> bool:
        return not self._filter.text

    def wants_seen(self, event: Pressed) -> bool:
        is_enter = isinstance(event, Key) and event.key == "enter"
        return super().wants_seen(event) or (is_enter and not self._filter.text)

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
        standing = self._survey.standings[point.id]
        is_in_doubt = point.id in self._doubted
        state = doubtful(STATES[standing.state], is_in_doubt=is_in_doubt).as_content()
        state = state if is_in_doubt else state.truncate(14, pad=True)
        parts = [shown(point.id, "bold"), *([shown(due, "bold")] if (due := _due(standing)) else [])]
        title = Content("  ").join([*parts, shown(point.title), shown(point.where)])
        return Row(None, state + Content(" ") + title)


class OpenPointsDialog(PointsDialog):
    """The list behind the key ``o``, with which OL, OPEN and OVER begin too.

    Typed as they are called, the key has opened the list and the rest stands in its filter. ``called`` is
    then what the meter showed, and no point is the answer.
    """

    _OPENED_BY = "o"

    def __init__(self, heading: str, survey: Survey, points: Sequence[Point]) -> None:
        super().__init__(heading, survey, points)
        self.called = ""
        self._is_marked = False  # with a key: then it is a point that is wanted

    def key_pressed(self, event: Key) -> None:
        self._is_marked = event.key in MOVES or (self._is_marked and event.key == "enter")
        if event.key == "enter" and (called := self._no_value):
            self.called = called
            self.answer(None)
        else:
            super().key_pressed(event)
            self._say_no_value()

    def _say_no_value(self) -> None:
        called = self._no_value
        words = f"{self._OPENED_BY}{self._filter.text}: Enter says no value here, {called}."
        self.say(f"{words} A point: mark it, or type more of it." if called else "")

    @property
    def _no_value(self) -> str:
        called = no_value_called(f"{self._OPENED_BY}{self._filter.text}")
        return "" if called is None or self._is_marked else called


def _due(standing: Standing) -> str:
    """What is awaited of a point that was read."""
    if standing.as_left is None:
        return ""
    if standing.awaited:
        return f"{standing.awaited} awaited"
    if standing.state is State.FAILED:
        return "rework awaited" if standing.discrepancy else "no paper"
    return ""


def _haystack(point: Point) -> str:
    return " ".join((point.id, point.title, point.where, point.section)).casefold()
