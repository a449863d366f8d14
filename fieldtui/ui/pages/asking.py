"""A whole screen that asks for one decision, and for smaller ones over itself on the way there.

It takes keys as a dialog does: in the order they were pressed, and none that were pressed before it
was there. While something is asked or written over it, further keys wait.
"""

from __future__ import annotations

from collections.abc import Coroutine
from typing import Any, TypeVar

from textual.content import Content
from textual.widget import Widget

from fieldtui.errors import FieldtuiError
from fieldtui.ui.actions import ScreenName
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.widgets.key_bar import key_lines

A = TypeVar("A")
T = TypeVar("T")


class AskingScreen(Dialog[T]):
    """Fills the terminal. Work that asks or writes is begun with :meth:`begin`."""

    CSS_PATH = ["../styles/dialogs.tcss", "../styles/asking.tcss"]  # type: ignore[assignment]  # noqa: RUF012
    TAKES_KEYS_AHEAD = False
    # The toolkit declares this without ClassVar.
    VERTICAL_BREAKPOINTS = [(0, "-low"), (32, "-high")]  # noqa: RUF012

    def __init__(self) -> None:
        super().__init__("")
        self._is_busy = False
        self._held: list[Key] = []

    def begin(self, work: Coroutine[Any, Any, None]) -> None:
        """Do something that asks or writes; what goes wrong is said, and the screen stays."""
        self._is_busy = True
        self.run_worker(self._until_done(work))

    async def ask(self, dialog: Dialog[A]) -> A | None:
        """Show a dialog over the screen and wait for its answer, None where it was left."""
        held, self._held = self._held, []
        dialog.take_over(held, self._take)
        dialog.above = self.above
        return await self.app.push_screen_wait(dialog)

    async def _until_done(self, work: Coroutine[Any, Any, None]) -> None:
        try:
            await work
        except FieldtuiError as error:
            self.say(f"{error.what}. {error.remedy}" if error.remedy else error.what)
            self._held.clear()
        finally:
            self._is_busy = False
            held, self._held = self._held, []
            for event in held:
                self._take(event)

    def _take(self, event: Key) -> None:
        if self._is_busy and not self._is_answered:
            self._held.append(event)
        else:
            super()._take(event)


class KeyHints(Widget):
    """The keys of a screen that reads its keys itself, from the table of actions."""

    DEFAULT_CSS = """
    KeyHints { height: auto; background: $panel; padding: 0 1; }
    """

    def __init__(self, screen: ScreenName) -> None:
        super().__init__()
        self._screen_name = screen

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        return len(key_lines(self._screen_name, width))

    def render(self) -> Content:
        return Content("\n").join(key_lines(self._screen_name, self.content_size.width))
