"""The second copy of a session, kept up on a thread of its own: no reading waits for it."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace

from fieldtui.core.text import visible
from fieldtui.errors import CopyFailedError
from fieldtui.files.session.second_copy import SecondCopy

_PATIENCE_S = 10.0  # for a slow stick, when the session is let go; a hung one must not hold the program


@dataclass(frozen=True, slots=True)
class CopyState:
    """How far the copy has come."""

    place: str  # its folder
    recorded: int  # rows of the session
    copied: int  # rows that are safe in the copy too
    is_on_same_disk: bool = False  # it helps against a damaged file, not against a lost disk
    trouble: str = ""  # why it is behind and not on its way, a sentence

    @property
    def behind(self) -> int:
        """Rows that only the session itself holds."""
        return self.recorded - self.copied


class Copying:
    """Carries every row over once it is safe in the session. Its methods return at once."""

    def __init__(self, copy: SecondCopy) -> None:
        self._copy = copy
        self._turn = threading.Condition()
        self._state = CopyState(str(copy.target), 0, 0)
        self._end = 0  # bytes
        self._rows, self._bytes = 0, 0  # what is being carried over
        self._is_wanted = self._is_at_work = self._is_over = False
        self._thread = threading.Thread(target=self._run, name="fieldtui-second-copy", daemon=True)
        self._thread.start()

    @property
    def state(self) -> CopyState:
        with self._turn:
            return self._state

    def follow(self, end: int, rows: int) -> None:
        """The session's trail is safe up to ``end`` bytes, which are ``rows`` rows."""
        with self._turn:
            self._end = end
            self._state = replace(self._state, recorded=rows)
            self._is_wanted = True
            self._turn.notify_all()

    def finish(self, patience_s: float = _PATIENCE_S) -> CopyState:
        """Let what is on its way get there, for a while; then let the copy go."""
        with self._turn:
            self._is_over = True
            self._turn.notify_all()
        self._thread.join(patience_s)
        return self.state

    def wait(self, patience_s: float = _PATIENCE_S) -> CopyState:
        """Wait until nothing is on its way, at most so long."""
        with self._turn:
            self._turn.wait_for(lambda: not (self._is_wanted or self._is_at_work), patience_s)
            return self._state

    def _run(self) -> None:
        while self._take_turn():
            trouble = ""
            try:
                self._copy.catch_up(self._bytes)
            except CopyFailedError as error:
                trouble = visible(error.what)
            self._give_turn(trouble)
        self._copy.close()

    def _take_turn(self) -> bool:
        """Wait for something to carry over; False once there is nothing and nothing will come."""
        with self._turn:
            self._turn.wait_for(lambda: self._is_wanted or self._is_over)
            self._is_at_work, self._is_wanted = self._is_wanted, False
            self._rows, self._bytes = self._state.recorded, self._end
            return self._is_at_work

    def _give_turn(self, trouble: str) -> None:
        with self._turn:
            copied = self._state.copied if trouble else self._rows
            self._state = replace(
                self._state,
                copied=copied,
                trouble=trouble,
                is_on_same_disk=self._copy.is_on_same_disk,
            )
            self._is_at_work = False
            self._turn.notify_all()
