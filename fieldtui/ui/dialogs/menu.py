"""Every action of a screen under a number, for the numeric keypad."""

from __future__ import annotations

from collections.abc import Iterable

from textual import on
from textual.content import Content
from textual.widget import Widget

from fieldtui.ui.actions import ScreenName, actions_of, key_name
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.widgets.choices import Choices, Row


class MenuDialog(Dialog[str]):
    """The answer is the name of an action."""

    def __init__(self, screen: ScreenName) -> None:
        super().__init__("What now?", "Number, or arrows and Enter. Esc: back.")
        self._actions = [action for action in actions_of(screen) if action.name != "menu"]

    def compose_body(self) -> Iterable[Widget]:
        rows = []
        for number, action in enumerate(self._actions, start=1):
            keys = " ".join(key_name(key) for key in action.keys)
            rows.append(Row(number, Content(f"{action.label:<16}{keys:<6} {action.help}")))
        yield Choices(rows)

    @on(Choices.RowChosen)
    def _row_chosen(self, event: Choices.RowChosen) -> None:
        event.stop()
        self.dismiss(self._actions[event.index].name)
