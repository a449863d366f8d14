"""Bare Textual apps that the program is held against: ``python -m tests.bench.bare start|walk|input``.

Each puts as many widgets with the same words on the screen as the program's own screen does, and that
is all. The words come from a file, so that no module of the program is imported.
"""

from __future__ import annotations

import asyncio
import os
import sys
from pathlib import Path

from textual.app import App, ComposeResult
from textual.widgets import Input, OptionList, Static


class BareStart(App[None]):
    """A title, a list and a line of keys."""

    CSS = "OptionList { height: 1fr; } Static { height: auto; }"

    def compose(self) -> ComposeResult:
        title, *rows, keys = Path("bare.txt").read_text(encoding="utf-8").split("\n\n")
        yield Static(title, markup=False)
        yield OptionList(*rows, markup=False)
        yield Static(keys, markup=False)


class BareWalk(App[None]):
    """The lines of the walk screen, a widget for each part, and an input whose values are only told."""

    CSS = "Static { height: auto; } Input { height: 1; border: none; }"

    def compose(self) -> ComposeResult:
        *parts, keys = Path("bare.txt").read_text(encoding="utf-8").split("\n\n")
        for part in parts:
            yield Static(part, markup=False)
        yield Input(compact=True)
        yield Static("", markup=False, id="told")
        yield Static(keys, markup=False)

    def on_mount(self) -> None:
        self._count = 0

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.input.value = ""
        self._count += 1
        self.query_one("#told", Static).update(f"RECORDED {self._count} {event.value}")


class BareInput(App[None]):
    """An input; what is entered goes to the disk with one write and one sync, and then on to the screen."""

    def compose(self) -> ComposeResult:
        yield Static("ready", markup=False)
        yield Input(compact=True)

    def on_mount(self) -> None:
        self._fd = os.open("bare.csv", os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600)
        self._count = 0

    async def on_input_submitted(self, event: Input.Submitted) -> None:
        event.input.value = ""
        await asyncio.to_thread(self._append, event.value)
        self._count += 1
        self.query_one(Static).update(f"RECORDED {self._count} {event.value}")

    def _append(self, value: str) -> None:
        os.write(self._fd, f"{value:150}\n".encode())
        getattr(os, "fdatasync", os.fsync)(self._fd)


if __name__ == "__main__":
    {"start": BareStart, "walk": BareWalk, "input": BareInput}[sys.argv[1]]().run(mouse=False)
