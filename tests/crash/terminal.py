"""The real program in a pseudo-terminal: keys in, a screen out, and a way to kill it."""

from __future__ import annotations

import os
import re
import signal
import sys
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import NoReturn

import pyte

from tests.crash.pseudo import Pseudo, terminal_environment

_COLOURS = re.compile(rb"\x1b\[[0-9;]*m")
_BEGUN = re.compile(rb"\x1b(?:\[[0-9;?]*)?\Z")  # a control sequence whose end has not come yet


class Terminal(Pseudo):
    """A program under a terminal of ``columns`` by ``rows`` cells.

    ``module`` is what is run with ``python -m``: the program itself, or one of the tests' own;
    ``under`` is a program that runs it in turn, such as a tracer, and its arguments. With ``is_forked``
    the program is not started anew: the process it is asked from, which has one thread and has imported
    it, goes on as the program in a copy of itself.
    """

    def __init__(
        self,
        arguments: list[str],
        folder: Path,
        *,
        columns: int = 80,
        rows: int = 24,
        module: str = "fieldtui",
        under: Sequence[str] = (),
        is_forked: bool = False,
    ) -> None:
        self.screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self.screen)
        self._pending = b""
        super().__init__(
            [*under, sys.executable, "-m", module, *arguments],
            folder,
            terminal_environment(),
            columns=columns,
            rows=rows,
            go_on=partial(_go_on_as_the_program, arguments) if is_forked else None,
        )

    def resize(self, columns: int, rows: int) -> None:
        self.screen.resize(rows, columns)
        super().resize(columns, rows)

    @property
    def text(self) -> str:
        """What stands on the screen."""
        return "\n".join(self.screen.display)

    def send(self, keys: str) -> None:
        self.type(keys)

    def printed(self, data: bytes) -> None:
        """Hand output to the screen without its colours, which cost most of the time; cut sequences wait."""
        whole = self._pending + data
        begun = _BEGUN.search(whole)
        end = begun.start() if begun else len(whole)
        self._pending = whole[end:]
        self._stream.feed(_COLOURS.sub(b"", whole[:end]))

    def wait_for(self, words: str, seconds: float = 30.0) -> None:
        """Look until ``words`` stand on the screen."""
        until = time.monotonic() + seconds
        while words not in self.text:
            if time.monotonic() > until or not self.look(0.2):
                raise AssertionError(f"{words!r} never came; the screen says:\n{self.text}")

    def kill(self, how: signal.Signals = signal.SIGKILL) -> None:
        """End the program, and take in what it had printed by then."""
        os.kill(self.pid, how)
        while self.look(0.5):
            pass
        self.close()

    def wait_for_end(self, seconds: float = 30.0) -> int:
        """The exit code of a program that is about to end by itself."""
        until = time.monotonic() + seconds
        while self.look(0.2):
            if time.monotonic() > until:
                raise AssertionError(f"the program does not end; the screen says:\n{self.text}")
        return self.close()

    def is_stopped(self) -> bool:
        """Whether the program is suspended at this moment."""
        stat = Path(f"/proc/{self.pid}/stat").read_text(encoding="utf-8")
        return stat.rpartition(") ")[2].startswith("T")

    def hang_up(self) -> None:
        """The window is closed, or the line to it breaks: the terminal is gone."""
        os.close(self._fd)
        self._fd = -1

    def wait_without_terminal(self, seconds: float = 30.0) -> int:
        """The exit code of a program whose terminal is gone; minus the signal that ended it."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                return os.waitstatus_to_exitcode(status)
            time.sleep(0.02)
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        raise AssertionError("the program lives on without a terminal")


def _go_on_as_the_program(arguments: list[str]) -> NoReturn:
    from fieldtui.cli import main

    for fd, (name, mode) in enumerate((("stdin", "r"), ("stdout", "w"), ("stderr", "w"))):
        stream = os.fdopen(fd, mode)
        setattr(sys, name, stream)
        setattr(sys, f"__{name}__", stream)
    code = 70
    try:
        code = main(arguments)
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
