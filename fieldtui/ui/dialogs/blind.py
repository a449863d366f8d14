"""Key the meter's memory list with the record out of sight, one number after the other."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.core.measurement.voltage import VoltageReading
from fieldtui.core.pairing.alignment import MemoryEntry
from fieldtui.desk.entry import parse_memory_number
from fieldtui.desk.listed import ERASED, NO_VALUE, ListUnits, weigh_listed
from fieldtui.errors import BadInputError
from fieldtui.ui.dialogs.dialog import Dialog, Key
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.word_line import WordLine

_LAST = 7  # entries shown of those keyed so far
# Memory number and value, as on the walk.
_NUMBERED = re.compile(r"([0-9]+) +(-|[.xX]|[oO][lL]|-?[.RLKMrkmuµ]?[0-9].*)")
_STATES = "-: erased. x, OL, or . alone: an entry without a value."
_LATER = "Esc, or / on the empty line: later."
_CLEARS = "* or Up clears the line"


@dataclass(slots=True)
class KeyedList:
    """What was keyed so far of the list of one memory run.

    ``twice`` has, by place in ``entries``, the lines that were keyed twice alike.
    """

    entries: list[MemoryEntry] = field(default_factory=list)
    twice: dict[int, MemoryEntry] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """``3 keyed so far``; empty where nothing is."""
        return f"{len(self.entries)} keyed so far" if self.entries else ""


class ListDialog(Dialog[bool]):
    """One line on which entries of a meter's list are keyed; Escape leaves the rest for later.

    With text on the line no key of the keypad but Enter leads away from it: ``/`` belongs to a unit or does
    nothing, ``*`` clears the line.
    """

    def __init__(self, heading: str, hint: str, units: ListUnits) -> None:
        voltage = f" A voltage: {units.example}" if units.example else ""
        super().__init__(f"{heading}, in {units.symbol} unless keyed otherwise.{voltage}", hint)
        self._units = units
        self._line = WordLine(is_value=True, is_active=True)

    def on_mount(self) -> None:  # the toolkit calls the one of Dialog as well
        self._ask()

    def leaves(self, event: Key) -> bool:
        return event.key == "escape" or (event.key == "slash" and not self._line.text.strip())

    def key_pressed(self, event: Key) -> None:
        text = self._line.text
        self.say("")  # what was said of keys before these is over
        if event.key == "enter":
            self._enter(text.strip())
        elif event.key == "f1":  # the page behind names it in its footer
            self.say("Every key of this list stands below.", "bold")
        elif event.key in ("up", "asterisk"):
            if text:
                self._line.text = ""
            else:
                self._go_back()
        elif event.key == "slash" and not text.endswith("V"):
            self.say(f"/ belongs to a unit here, as in mV/100mA. {_CLEARS}, Esc leaves it.", "bold")
        elif event.key == "minus" and text and not text.endswith(" "):
            self.say(f"- stands before a value, or alone. {_CLEARS}.", "bold")
        else:
            self._line.press(event)

    def _go_back(self) -> None:
        """On the empty line: to the entry before, where there is a way back."""

    def _ask(self) -> None:
        """Show what is asked for now."""
        raise NotImplementedError

    def _enter(self, text: str) -> None:
        """Take in what was keyed."""
        raise NotImplementedError


class BlindDialog(ListDialog):
    """Asks ``number 7: value?``; what is keyed goes into ``keyed``, also where it is left with Escape.

    Where the list begins with another number than expected, the first line keyed says so: ``17 1.38``.
    The list ends with ``last``, the highest number that the memory has, None where that is not known.
    """

    def __init__(
        self, run: int, first: int, units: ListUnits, keyed: list[MemoryEntry], *, last: int | None = None
    ) -> None:
        super().__init__(
            f"The memory list of run {run}, value after value",
            f"{_STATES}\n"
            f"{_CLEARS}; on the empty line: the last back.\n"
            f"Enter on the empty line: it ends. {_LATER}\n"
            "Where it begins with another number, key that first: 17 1.38",
            units,
        )
        self._run = run
        self._first = first
        self._keyed = keyed
        self._last = last

    def compose_body(self) -> Iterable[Widget]:
        yield Static(id="blind-keyed")
        yield Static(id="blind-asked", classes="dialog-label")
        yield self._line

    def _go_back(self) -> None:
        if self._keyed:
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
            if self._last is not None and first + len(self._keyed) > self._last:
                self.say(f"This memory ends with number {self._last}: Enter on the empty line ends the list")
                return
            entry = weigh_listed(text, self._run, first + len(self._keyed), self._units)
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
        is_over = self._last is not None and self._next > self._last
        asked = f"number {self._last} was the last: Enter ends the list" if is_over else ""
        words = Content.styled(asked or f"number {self._next}: value?", "bold")
        self.query_one("#blind-asked", Static).update(words)


class BlindAgainDialog(ListDialog):
    """Asks ``memory 14: key it again`` for lines of ``keyed``; what was keyed before stays out of sight.

    A line is settled once the same was keyed twice, one after the other: it then stands in ``keyed`` and
    in ``keyed_twice``, also where the rest is left with Escape.
    """

    IS_UNFORESEEN = True

    def __init__(
        self,
        run: int,
        units: ListUnits,
        keyed: list[MemoryEntry],
        places: Sequence[int],
        keyed_twice: dict[int, MemoryEntry],
    ) -> None:
        super().__init__(
            f"Look at these lines of run {run} again on the meter",
            "They differ from the record. A value counts once it is keyed twice alike.\n"
            f"{_STATES}\n{_CLEARS}. {_LATER}",
            units,
        )
        self._keyed = keyed
        self._places = list(places)
        self._keyed_twice = keyed_twice

    def compose_body(self) -> Iterable[Widget]:
        yield Static(id="blind-asked", classes="dialog-label")
        yield self._line

    def _enter(self, text: str) -> None:
        place = self._places[0]
        before = self._keyed[place]
        if not text:
            self.say("key what the meter shows, - where the entry is erased, x where it shows no value")
            return
        try:
            entry = weigh_listed(text, before.run, before.number, self._units)
        except BadInputError as error:
            self.say(error.what)
            return
        self._keyed[place] = entry
        self._line.text = ""
        if not is_alike(entry, before):
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


def is_alike(one: MemoryEntry, other: MemoryEntry) -> bool:
    """Whether two lines say the same of an entry."""
    if one.reading is None or other.reading is None:
        return (one.reading, one.erased) == (other.reading, other.erased)
    if isinstance(one.reading, VoltageReading) and isinstance(other.reading, VoltageReading):
        return one.reading.exact_ohms == other.reading.exact_ohms  # with their signs
    return type(one.reading) is type(other.reading) and one.reading.ohms == other.reading.ohms


def _as_keyed(entry: MemoryEntry) -> str:
    reading = entry.reading
    if reading is None:
        return ERASED if entry.erased else NO_VALUE[0]
    return " ".join(reading.cells)


def _as_shown(entry: MemoryEntry) -> str:
    if entry.reading is None:
        return "erased" if entry.erased else "no value"
    return str(entry.reading)
