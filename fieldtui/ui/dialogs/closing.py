"""Before a session is closed for good: what is unsettled, by name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.core.position import State
from fieldtui.core.route import Point
from fieldtui.core.survey import Survey
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.phrases import STATES
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row

_NAMED = 12  # points named; the others are counted


class ClosingDialog(PickDialog[bool]):
    """Only the digit 1 closes; Enter and Escape do not."""

    TAKES_KEYS_AHEAD = False

    def __init__(self, survey: Survey) -> None:
        unsettled = len(survey.points) - survey.settled
        words = f"close with {unsettled} unsettled" if unsettled else "every point is settled: close"
        super().__init__(
            "Close the session? No reading can be added afterwards.",
            [(Row(1, Content(words)), True)],
            hint="1: close. Esc: go on.",
            enter_picks=False,
        )
        self._survey = survey

    def compose_body(self) -> Iterable[Widget]:
        for state in (State.OPEN, State.SKIPPED, State.FAILED, State.INACCESSIBLE):
            points = self._survey.in_state(state)
            if points:
                yield Static(_named(state, points), classes="dialog-line")
        yield from super().compose_body()


def _named(state: State, points: Sequence[Point]) -> Content:
    names = Content(", ").join(shown(point.id) for point in points[:_NAMED])
    more = f" and {len(points) - _NAMED} more" if len(points) > _NAMED else ""
    return STATES[state].as_content(len(points)) + Content(": ") + names + Content(more)
