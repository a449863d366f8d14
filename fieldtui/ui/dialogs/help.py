"""What every key of a screen does, from the table of actions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.containers import VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.ui.actions import ScreenName, actions_of, key_name
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.shown import shown

_HINT = "Arrows, + and * scroll. Any other key: back."
WIDTH = 70  # cells of the page
KEYS_WIDTH = 14
_ENTRY = (
    ("1.38 Enter", "a reading in the point's unit"),
    ("950u 2.1r 4k", "with a unit: u micro, m milli, r ohm, k kilo, M mega"),
    ("R47 2R5 4L7", "the letter is the decimal point (IEC 60062); L milliohm"),
    ("17 1.38", "the meter's memory number, then the value; a mismatch stops"),
    ("STOPPED", "key what is read now: the same stands, another replaces it"),
    ("OL OPEN", "no value: leads to x with that reason"),
    ("Esc", "empties the line; letters are keys only while it is empty"),
)
_SIGNS = (  # of the review's table of points
    ("limit [R]", "the limit of a retest, after rework"),
    ("limit [G]", "decision rule guarded: pass only clear of the limit by the guard band"),
    ("limit [4]", "decision rule of four states, with conditional pass and fail"),
    ("of limit", "never 100 %: on the limit itself ≤100 % meets it, ≥100 % does not"),
)


class HelpDialog(Dialog[bool]):
    """A page to read; the arrows scroll it, any other key closes it."""

    IS_UNFORESEEN = True

    def __init__(self, screen: ScreenName, alerts: Sequence[str] = ()) -> None:
        """``alerts`` are the warnings that stand: all of them come before the keys."""
        super().__init__("Keys, below the warnings" if alerts else "Keys", _HINT)
        said = [line for alert in alerts for line in shown(f"! {alert}", "bold").wrap(WIDTH)]
        page = [*said, *([Content("")] if said else []), help_page(screen)]
        self._page = VerticalScroll(Static(Content("\n").join(page)), id="help-page")

    def compose_body(self) -> Iterable[Widget]:
        yield self._page

    def key_pressed(self, event: Key) -> None:
        if not scrolled(self._page, event.key):
            self.answer(True)


def scrolled(page: VerticalScroll, key: str) -> bool:
    """Scroll where the key is one that scrolls; whether it is."""
    scrolls = {
        "up": page.scroll_up,
        "down": page.scroll_down,
        "pageup": page.scroll_page_up,
        "pagedown": page.scroll_page_down,
        "home": page.scroll_home,
        "end": page.scroll_end,
        "asterisk": page.scroll_page_up,
        "plus": page.scroll_page_down,
    }
    if key in scrolls:
        scrolls[key](animate=False)
    return key in scrolls


def help_page(screen: ScreenName) -> Content:
    """Keys and what they do, a line each; for the walk what may be keyed as a value first.

    For the review what the signs of its tables mean comes last.
    """
    rows = list(_ENTRY) if screen == "walk" else []
    rows += [(" ".join(map(key_name, action.keys)), action.help) for action in actions_of(screen)]
    rows += _SIGNS if screen == "review" else ()
    room = max(KEYS_WIDTH, *(len(keys) + 2 for keys, _ in rows))
    return Content("\n").join(line for keys, text in rows for line in _lines(keys, text, room))


def _lines(keys: str, text: str, room: int) -> list[Content]:
    """The words beside the keys, which have ``room`` cells, folded under themselves."""
    wrapped = Content(text).wrap(WIDTH - room)
    beside = [f"{keys:<{room}}"] + [" " * room] * (len(wrapped) - 1)
    return [Content.styled(left, "bold") + right for left, right in zip(beside, wrapped, strict=True)]
