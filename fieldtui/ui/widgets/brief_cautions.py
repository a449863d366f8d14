"""The cautions, all of them, to be read before anything else."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from fieldtui.core.plan.tables import Caution
from fieldtui.ui.shown import shown

_PAGE_KEYS = ("enter", "space", "pagedown")


class CautionsBox(VerticalScroll, can_focus=True):
    """Enter turns the page; on the last one it says that the cautions were read.

    Once that is said Enter leads on to the questions; the other page keys still turn the page.
    """

    class Read(Message):
        """The crew says that the cautions were read."""

    def __init__(self, cautions: Sequence[Caution]) -> None:
        super().__init__(id="brief-cautions")
        self._cautions = cautions
        self._is_read = False
        self.say_read(False)

    def compose(self) -> ComposeResult:
        yield Static(_page(self._cautions), markup=False)

    def say_read(self, is_read: bool) -> None:
        """Show whether they were read."""
        self._is_read = is_read
        self.border_title = f"Cautions: {len(self._cautions)}"
        unread = "NOT READ YET   Enter: page on   F3: read"
        self.border_subtitle = "READ   Enter: on to the questions" if is_read else unread

    def on_key(self, event: events.Key) -> None:
        at_end = self.scroll_offset.y >= self.max_scroll_y
        if event.key in _PAGE_KEYS and (at_end or (self._is_read and event.key == "enter")):
            self.post_message(self.Read())
        elif event.key in _PAGE_KEYS:
            self.scroll_page_down(animate=False)
        elif event.key == "down" and not at_end:
            self.scroll_down(animate=False)
        elif event.key == "up" and self.scroll_offset.y > 0:
            self.scroll_up(animate=False)
        else:
            return
        event.stop()
        event.prevent_default()


def _page(cautions: Sequence[Caution]) -> Content:
    parts = [shown(caution.title, "bold") + Content("  ") + shown(caution.text) for caution in cautions]
    return Content("\n").join(parts)
