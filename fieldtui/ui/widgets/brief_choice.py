"""One of a few answers: arrows or digits choose, Enter moves on."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.containers import VerticalScroll
from textual.content import Content
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.ui.shown import shown

_BEFORE = 5  # cells before an answer of the list: mark and number
_ROOM = 24  # cells of all answers together, where they stand on one line, each with its digit


class ChoiceLine(Widget, can_focus=True):
    """``< good >   1 good  2 weak``; ``chosen`` is None until something was chosen.

    With ``is_list`` the answers stand one below the other, each whole, while there is something to choose:
    until one was chosen, and whenever the line has the focus.
    """

    DEFAULT_CSS = """
    ChoiceLine { width: 1fr; height: auto; }
    """

    chosen: reactive[int | None] = reactive(None)

    class Chosen(Message):
        """Another answer was chosen."""

        def __init__(self, choice: ChoiceLine) -> None:
            super().__init__()
            self.choice = choice

    def __init__(self, answers: Sequence[str], *, chosen: int | None = None, is_list: bool = False) -> None:
        super().__init__()
        self.answers = list(answers)
        self._is_list = is_list and len(self.answers) > 1
        self._typed = ""  # the digits of a number that may go on
        self.set_reactive(ChoiceLine.chosen, chosen)

    # --- keys -----------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        if event.key in ("left", "right", "space"):
            self.step(-1 if event.key == "left" else 1)
        elif event.character is not None and event.character in "0123456789":
            self._type(event.character)
        elif event.key == "enter":
            self.screen.focus_next()
        else:
            return
        event.stop()
        event.prevent_default()

    def _type(self, digit: str) -> None:
        """A number chooses at once; where a second digit makes it another one, that one is chosen."""
        for typed in (self._typed + digit, digit):
            if 0 < int(typed) <= len(self.answers):
                self._typed = typed
                self.chosen = int(typed) - 1
                return
        self._typed = ""

    def step(self, by: int) -> None:
        """Choose the answer after this one, or before it."""
        self._typed = ""
        if self.chosen is None:
            self.chosen = 0 if by > 0 else len(self.answers) - 1
        else:
            self.chosen = (self.chosen + by) % len(self.answers)

    def on_focus(self) -> None:
        self._lay_out()

    def on_blur(self) -> None:
        self._typed = ""
        self._lay_out()

    def watch_chosen(self) -> None:
        self._lay_out()
        self.post_message(self.Chosen(self))

    # --- drawing --------------------------------------------------------------------------

    def _lay_out(self) -> None:
        if self._is_list:
            self.refresh(layout=True)
            # After the toolkit, which brings the middle of the whole list into sight.
            self.call_after_refresh(self.call_after_refresh, self._show_chosen)

    def _show_chosen(self) -> None:
        """A list may be longer than what there is room for: the chosen answer is in sight."""
        within = next((each for each in self.ancestors if isinstance(each, VerticalScroll)), None)
        if within is None or not self._is_open or not self.has_focus:
            return
        before = self.answers[: self.chosen or 0]
        above = sum(len(shown(answer).wrap(self._room(self.size.width))) for answer in before)
        top = self.region.y - within.region.y + within.scroll_offset.y + above
        within.scroll_to_region(Region(0, top, 1, 2), animate=False)

    @property
    def _is_open(self) -> bool:
        return self._is_list and (self.has_focus or self.chosen is None)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self._listed(width)) if self._is_list else 1

    def render(self) -> Content:
        if self._is_list:
            return Content("\n").join(self._listed(self.size.width))
        words = "not answered" if self.chosen is None else self.answers[self.chosen]
        line = shown(f"< {words} >", "reverse" if self.has_focus else "bold")
        if len(self.answers) <= 1:
            return line
        if sum(map(len, self.answers)) > _ROOM:
            at = "" if self.chosen is None else f"{self.chosen + 1} of "
            return line + Content(f"  {at}{len(self.answers)}")
        return line + shown("   " + "  ".join(f"{n} {answer}" for n, answer in enumerate(self.answers, 1)))

    @staticmethod
    def _room(width: int) -> int:
        return max(6, width - _BEFORE)

    def _listed(self, width: int) -> list[Content]:
        """Every answer behind its number, or the one chosen; folded where it is longer than the line."""
        lines = []
        for place, answer in enumerate(self.answers):
            if not self._is_open and place != self.chosen:
                continue
            is_chosen = place == self.chosen
            style = ("bold reverse" if self.has_focus else "bold") if is_chosen else ""
            folded = shown(answer).wrap(self._room(width))
            for row, part in enumerate(folded):
                left = f"{'▶' if is_chosen else ' '}{place + 1:>2}  " if row == 0 else " " * _BEFORE
                lines.append((Content(left) + part).stylize(style) if style else Content(left) + part)
        return lines
