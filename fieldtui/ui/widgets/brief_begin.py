"""The last line of the brief: Enter on it begins the walk."""

from __future__ import annotations

from typing import ClassVar

from textual import events
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.ui.held_keys import page_changed


class BeginLine(Widget, can_focus=True):
    """``[ BEGIN THE WALK ]``; while something blocks the walk Enter leads to the first thing that does."""

    DEFAULT_CSS = """
    BeginLine { width: 1fr; height: 1; }
    """
    ALLOW_SELECT: ClassVar[bool] = False

    is_blocked: reactive[bool] = reactive(True)

    class Begun(Message):
        """Enter was pressed on the line."""

    def __init__(self) -> None:
        super().__init__(id="brief-begin")

    def on_focus(self) -> None:
        page_changed(self)  # an Enter that was pressed for the line before begins nothing

    def on_key(self, event: events.Key) -> None:
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            self.post_message(self.Begun())

    def render(self) -> Content:
        said = Content("▶ " if self.has_focus else "  ")
        said += Content.styled("[ BEGIN THE WALK ]", "bold reverse" if self.has_focus else "bold")
        leads = "still blocked: Enter leads to the first thing" if self.is_blocked else "Enter begins"
        return said + Content(f"  {leads}")
