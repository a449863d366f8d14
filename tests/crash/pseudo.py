"""A program under a pseudo-terminal, whose bytes are kept: the one reader that tests and benches stand on."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import termios
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import NoReturn

_READ = 65536
TOP = Path(__file__).resolve().parents[2]


def terminal_environment() -> dict[str, str]:
    """What a program is told of its terminal: colours, and no size but the one it can ask for."""
    kept = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
    return {**kept, "TERM": "xterm-256color", "COLORTERM": "truecolor", "PYTHONPATH": str(TOP)}


class Pseudo:
    """``command`` in ``folder``, under a terminal of ``columns`` by ``rows`` cells.

    With ``go_on`` nothing is started anew: the process it is asked from, which has one thread, goes on
    with that in a copy of itself.
    """

    def __init__(
        self,
        command: Sequence[str],
        folder: Path,
        environment: Mapping[str, str],
        *,
        columns: int = 80,
        rows: int = 24,
        go_on: Callable[[], NoReturn] | None = None,
    ) -> None:
        self.raw = bytearray()
        self.pid, self._fd = pty.fork()
        if self.pid == 0:
            os.chdir(folder)
            _set_size(0, columns, rows)  # before the program can ask
            if go_on is not None:
                go_on()
            os.execvpe(command[0], list(command), dict(environment))  # noqa: S606

    def resize(self, columns: int, rows: int) -> None:
        """The window gets another size; the program is told by the system."""
        _set_size(self._fd, columns, rows)

    def type(self, keys: str) -> None:
        os.write(self._fd, keys.encode())

    def look(self, seconds: float) -> bool:
        """Take in what was printed, for at most ``seconds``; false once the program has gone."""
        if not select.select([self._fd], [], [], seconds)[0]:
            return True
        try:
            data = os.read(self._fd, _READ)
        except OSError:  # the other end is closed
            return False
        self.raw += data
        self.printed(data)
        return bool(data)

    def printed(self, data: bytes) -> None:
        """These bytes have just come."""

    def signal(self, number: signal.Signals) -> None:
        os.kill(self.pid, number)

    def close(self) -> int:
        """Let the terminal go and wait for the program; its exit code, or minus the signal that ended it."""
        os.close(self._fd)
        _, status = os.waitpid(self.pid, 0)
        return os.waitstatus_to_exitcode(status)


def _set_size(fd: int, columns: int, rows: int) -> None:
    fcntl.ioctl(fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
