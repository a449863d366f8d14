"""Every action of a screen under a number, for the numeric keypad."""

from __future__ import annotations

from textual.content import Content

from fieldtui.ui.actions import Action, ScreenName, actions_of, key_name
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.widgets.choices import Row


class MenuDialog(PickDialog[str]):
    """The answer is the name of an action."""

    def __init__(self, screen: ScreenName) -> None:
        actions = [action for action in actions_of(screen) if action.name != "menu"]
        super().__init__(
            "What now?",
            [(_row(number, action), action.name) for number, action in enumerate(actions, start=1)],
            hint="Number, or arrows and Enter. Esc: back.",
        )


def _row(number: int, action: Action) -> Row:
    keys = " ".join(map(key_name, action.keys))
    return Row(number, Content(f"{action.label:<16}{keys:<6} {action.help}"))
