"""Every action of the walk for the numeric keypad, which has no letters.

``/`` opens it: what happens most often is one digit away, its first answer included; a second ``/``
turns to the actions left over, ten on each page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual.content import Content

from fieldtui.ui.actions import Action, actions_of, key_name
from fieldtui.ui.dialogs.dialog import Key
from fieldtui.ui.dialogs.pick import PickDialog
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.choices import Row

ATTEMPTS = 4  # reasons for no value that have a digit of their own
NEXT_PAGE = "next page"  # no action: the menu's next page is wanted, after the last the first
_ON_THE_KEYPAD = frozenset({"minus", "plus", "asterisk", "slash"})
_ACTIONS = {action.name: action for action in actions_of("walk")}
_FIRST = {7: "amend", 8: "points", 9: "pause", 0: "note"}


@dataclass(frozen=True, slots=True)
class Picked:
    """The name of an action, and keys that answer its first question as if they had been pressed."""

    name: str
    keys: tuple[str, ...] = ()


class MenuDialog(PickDialog[Picked]):
    """One page of the menu; ``/`` asks for the next."""

    def __init__(self, rows: Sequence[tuple[Row, Picked]]) -> None:
        hint = "A digit, or arrows and Enter. /: other actions. Esc or -: back."
        super().__init__("What now?", rows, hint=hint)

    def on_mount(self) -> None:  # the toolkit calls the one of Dialog as well
        self._say_help()

    def key_pressed(self, event: Key) -> None:
        if event.key == "slash":
            self.answer(Picked(NEXT_PAGE))
        else:
            super().key_pressed(event)
            if not self._is_answered and not self._choices.is_value:
                self._say_help()

    def _say_help(self) -> None:
        """The whole help of the marked action; beside its name there is no room for it."""
        action = _ACTIONS.get(self._answers[self._choices.cursor].name)
        self.say(action.help if action is not None else "", style="")


def menu_pages(reasons: Sequence[str], *, is_full: bool, is_signed: bool = False) -> list[MenuDialog]:
    """The pages in their order.

    Args:
        reasons: those for no value, from the crew's table.
        is_full: whether the meter's memory is.
        is_signed: whether a minus begins a value, so that it is no key of an action.
    """
    there = {"fresh_run", *_FIRST.values()}
    left = [
        action
        for action in actions_of("walk")
        if not (_ON_THE_KEYPAD - ({"minus"} if is_signed else set())).intersection(action.keys)
        and action.name not in there
    ]
    pages = [_first_rows(reasons, is_full)]
    for begin in range(0, len(left), 10):  # ten digits a page
        numbered = enumerate(left[begin : begin + 10], start=1)
        pages.append([(_row(number % 10, action), Picked(action.name)) for number, action in numbered])
    return [MenuDialog(rows) for rows in pages]


def _first_rows(reasons: Sequence[str], is_full: bool) -> list[tuple[Row, Picked]]:
    """What happens most often."""
    rows = [
        (
            Row(number, Content(f"{_ACTIONS['attempt'].label}: ") + shown(reason)),
            Picked("attempt", (str(number),)),
        )
        for number, reason in enumerate(reasons[:ATTEMPTS], start=1)
    ]
    rows.append((Row(5, Content("void the last reading")), Picked("void", ("enter",))))
    if is_full:  # the way on begins with its list
        words = "memory full: key its list, then the next run"
        rows.append((Row(6, Content(words)), Picked("fresh_run", ("1",))))
    else:
        rows.append((_row(6, _ACTIONS["fresh_run"]), Picked("fresh_run")))
    return rows + [(_row(number, _ACTIONS[name]), Picked(name)) for number, name in _FIRST.items()]


def _row(number: int, action: Action) -> Row:
    keys = " ".join(map(key_name, action.keys))
    return Row(number, Content(f"{action.label:<16}{keys:<6} {action.help}"))
