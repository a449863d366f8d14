"""A whole screen that asks for one decision, and for smaller ones over itself on the way there.

While something is asked or written over it, keys wait. What it lists has changed afterwards, so that those
pressed meanwhile count as pressed before it could be seen.
"""

from __future__ import annotations

from collections.abc import Coroutine
from typing import Any, TypeVar

from fieldtui.errors import FieldtuiError
from fieldtui.ui.dialogs.dialog import Dialog
from fieldtui.ui.held_keys import forget_keys, page_changed

A = TypeVar("A")
T = TypeVar("T")


class AskingScreen(Dialog[T]):
    """Fills the terminal. Work that asks or writes is begun with :meth:`begin`."""

    CSS_PATH = ["../styles/dialogs.tcss", "../styles/asking.tcss"]  # type: ignore[assignment]  # noqa: RUF012
    IS_UNFORESEEN = True
    # The toolkit declares this without ClassVar.
    VERTICAL_BREAKPOINTS = [(0, "-low"), (32, "-high")]  # noqa: RUF012

    def __init__(self) -> None:
        super().__init__("")
        self._is_busy = False

    def begin(self, work: Coroutine[Any, Any, None]) -> None:
        """Do something that asks or writes; what goes wrong is said, and the screen stays."""
        self._is_busy = True
        self.run_worker(self._until_done(work))

    async def ask(self, dialog: Dialog[A]) -> A | None:
        """Show a dialog over the screen and wait for its answer, None where it was left."""
        dialog.above = self.above
        answer = await self.app.push_screen_wait(dialog)
        self.was_asked(dialog)
        return answer

    async def _until_done(self, work: Coroutine[Any, Any, None]) -> None:
        try:
            await work
        except FieldtuiError as error:
            self.say(f"{error.what}. {error.remedy}" if error.remedy else error.what)
            forget_keys(self)
        finally:
            self._is_busy = False
            if self.is_attached:
                page_changed(self)

    @property
    def minus_leaves(self) -> bool:
        return True

    @property
    def takes_keys(self) -> bool:
        return super().takes_keys and not self._is_busy
