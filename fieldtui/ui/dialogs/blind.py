"""Key the meter's memory list with the record out of sight, one number after the other."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.desk.entry import parse_memory_number, weigh_value
from fieldtui.errors import BadInputError
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.word_line import WordLine

_LAST = 8  # entries shown of those keyed so far
_NUMBERED = re.compile(r"([0-9]+) +(-|[.RLKMrkmuµ]?[0-9].*)")  # memory number and value, as on the walk


class ListDialog(Dialog[bool]):
    """One line on which entries of a meter's list are keyed; Escape and ``/`` leave the rest for later."""

    def __init__(self, heading: str, hint: str, unit: Unit) -> None:
        super().__init__(heading, hint)
        self._unit = unit
        self._line = WordLine(is_active=True)

    def on_mount(self) -> None:  # the toolkit calls the one of Dialog as well
        self._ask()

    def leaves(self, event: Key) -> bool:
        return event.key in ("escape", "slash")

    def key_pressed(self, event: Key) -> None:
        if event.key == "enter":
            self._enter(self._line.text.strip())
        else:
            self._line.press(event)

    def _ask(self) -> None:
        """Show what is asked for now."""
        raise NotImplementedError

    def _enter(self, text: str) -> None:
        """Take in what was keyed."""
        raise NotImplementedError


class BlindDialog(ListDialog):
    """Asks ``number 7: value?``; what is keyed goes into ``keyed``, also where it is left with Escape.

    Where the list begins with another number than expected, the first line keyed says so: ``17 1.38``.
    """

    def __init__(self, run: int, first: int, unit: Unit, keyed: list[MemoryEntry]) -> None:
        super().__init__(
            f"The memory list of run {run}, value after value, in {unit.symbol} unless keyed otherwise",
            "-: erased. Up or *: take the last back. Enter on the empty line: it ends. Esc or /: later.\n"
            "Where the list begins with another number, key it before the first value: 17 1.38",
            unit,
        )
        self._run = run
        self._first = first
        self._keyed = keyed

    def compose_body(self) -> Iterable[Widget]:
        yield Static(id="blind-keyed")
        yield Static(id="blind-asked", classes="dialog-label")
        yield self._line

    def key_pressed(self, event: Key) -> None:
        if event.key not in ("up", "asterisk"):
            super().key_pressed(event)
        elif self._keyed:
            self._line.text = _as_keyed(self._keyed.pop())
            self._ask()

    def _enter(self, text: str) -> None:
        if not text:
            if self._keyed:
                self.answer(True)
            else:
                self.say("nothing is keyed yet")
            return
        first = self._first
        try:
            if not self._keyed and (numbered := _NUMBERED.fullmatch(text)):
                first, text = parse_memory_number(numbered[1]), numbered[2]
            entry = _weighed(text, self._run, first + len(self._keyed), self._unit)
        except BadInputError as error:
            self.say(error.what)
            return
        self._first = first
        self._keyed.append(entry)
        self._line.text = ""
        self._ask()

    @property
    def _next(self) -> int:
        return self._first + len(self._keyed)

    def _ask(self) -> None:
        self.say("")
        last = [f"number {entry.number}: {_as_shown(entry)}" for entry in self._keyed[-_LAST:]]
        self.query_one("#blind-keyed", Static).update(Content("\n").join(map(shown, last)))
        self.query_one("#blind-asked", Static).update(Content.styled(f"number {self._next}: value?", "bold"))


class BlindAgainDialog(ListDialog):
    """Asks ``memory 14: key it again`` for lines of ``keyed``; what was keyed before stays out of sight.

    A line is settled once the same was keyed twice, one after the other: it then stands in ``keyed`` and
    in ``keyed_twice``, also where the rest is left with Escape.
    """

    IS_UNFORESEEN = True

    def __init__(
        self,
        run: int,
        unit: Unit,
        keyed: list[MemoryEntry],
        places: Sequence[int],
        keyed_twice: dict[int, MemoryEntry],
    ) -> None:
        super().__init__(
            f"Look at these lines of run {run} again on the meter, in {unit.symbol} unless keyed otherwise",
            "They differ from the record. A value counts once it is keyed twice alike.\n"
            "-: erased. Esc or /: later.",
            unit,
        )
        self._keyed = keyed
        self._places = list(places)
        self._keyed_twice = keyed_twice

    def compose_body(self) -> Iterable[Widget]:
        yield Static(id="blind-asked", classes="dialog-label")
        yield self._line

    def key_pressed(self, event: Key) -> None:
        self.say("")  # what was said of keys before these is over
        super().key_pressed(event)

    def _enter(self, text: str) -> None:
        place = self._places[0]
        before = self._keyed[place]
        if not text:
            self.say("key what the meter shows, - where the entry is erased")
            return
        try:
            entry = _weighed(text, before.run, before.number, self._unit)
        except BadInputError as error:
            self.say(error.what)
            return
        self._keyed[place] = entry
        self._line.text = ""
        if not _is_alike(entry, before):
            self._ask()
            self.say("not what was keyed before: read it on the meter and key it once more")
            return
        self._keyed_twice[place] = entry
        del self._places[0]
        if self._places:
            self._ask()
        else:
            self.answer(True)

    def _ask(self) -> None:
        self.say("")
        more = f"   ({len(self._places) - 1} more after it)" if len(self._places) > 1 else ""
        asked = f"memory {self._keyed[self._places[0]].number}: key it again"
        self.query_one("#blind-asked", Static).update(Content.styled(asked, "bold") + Content(more))


def _weighed(text: str, run: int | None, number: int | None, unit: Unit) -> MemoryEntry:
    """The entry that ``text`` says.

    Raises:
        BadInputError: it is no value.
    """
    is_erased = text == "-"
    return MemoryEntry(run, number, None if is_erased else weigh_value(text, unit), is_erased)


def _is_alike(one: MemoryEntry, other: MemoryEntry) -> bool:
    if one.reading is None or other.reading is None:
        return one.reading is other.reading
    return one.reading.ohms == other.reading.ohms


def _as_keyed(entry: MemoryEntry) -> str:
    reading = entry.reading
    return "-" if reading is None else f"{reading.digits} {reading.unit.value}"


def _as_shown(entry: MemoryEntry) -> str:
    return "erased" if entry.reading is None else str(entry.reading)
