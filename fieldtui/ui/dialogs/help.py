"""What every key of a screen does, from the table of actions."""

from __future__ import annotations

from collections.abc import Iterable

from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.ui.actions import ScreenName, actions_of, key_name
from fieldtui.ui.dialogs.dialog import Dialog, Key

WIDTH = 70  # cells of the page
KEYS_WIDTH = 14
_ENTRY = (
    ("1.38 Enter", "a reading in the point's unit"),
    ("950u 2.1r 4k", "with a unit: u micro, m milli, r ohm, k kilo, M mega"),
    ("R47 2R5 4L7", "the letter is the decimal point (IEC 60062); L milliohm"),
    ("17 1.38", "the meter's memory number, then the value; a mismatch stops"),
    ("Esc", "empties the line; letters are keys only while it is empty"),
)


class HelpDialog(Dialog[bool]):
    """A page to read; the arrows scroll it, any other key closes it."""

    def __init__(self, screen: ScreenName) -> None:
        super().__init__("Keys", "Arrows scroll. Any other key: back.")
        self._page = VerticalScroll(Static(help_page(screen)), id="help-page")

    def compose_body(self) -> Iterable[Widget]:
        yield self._page

    def key_pressed(self, event: Key) -> None:
        scrolls = {
            "up": self._page.scroll_up,
            "down": self._page.scroll_down,
            "pageup": self._page.scroll_page_up,
            "pagedown": self._page.scroll_page_down,
            "home": self._page.scroll_home,
            "end": self._page.scroll_end,
        }
        if event.key in scrolls:
            scrolls[event.key](animate=False)
        else:
            self.answer(True)


def help_page(screen: ScreenName) -> Content:
    """Keys and what they do, a line each; for the walk what may be keyed as a value first."""
    rows = list(_ENTRY) if screen == "walk" else []
    rows += [(" ".join(map(key_name, action.keys)), action.help) for action in actions_of(screen)]
    return Content("\n").join(line for keys, text in rows for line in _lines(keys, text))


def _lines(keys: str, text: str) -> list[Content]:
    """The words beside the keys, folded under themselves."""
    wrapped = Content(text).wrap(WIDTH - KEYS_WIDTH)
    beside = [f"{keys:<{KEYS_WIDTH}}"] + [" " * KEYS_WIDTH] * (len(wrapped) - 1)
    return [Content.styled(left, "bold") + right for left, right in zip(beside, wrapped, strict=True)]
