"""Read a trail and say what state it is in: whole, torn at its end, or edited. Pure over bytes.

*Torn* is what a power cut in the middle of a save leaves: everything before is good and a short
end is no whole row. Everything else that is not good was edited or damaged, and the findings
name the row and the likely cause. Lines are cut at newline bytes before any CSV is parsed, each
line is at most 4 KiB, so that neither a missing quotation mark nor a hostile file can make one
line swallow the others or fill the memory.
"""

from __future__ import annotations

import io
import itertools
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from fieldtui.core.text import MAX_LENGTH
from fieldtui.core.trail import chain
from fieldtui.core.trail.events import Event, Started
from fieldtui.errors import Problem, Severity
from fieldtui.files.trail.blocks import blocks, read_block
from fieldtui.files.trail.rows import COLUMNS, HEADER, MAX_LINE, RowError, format_line, parse_row, split_line

TRAIL_NAME = "trail.csv"
MAX_PROBLEMS = 100  # more findings than this say nothing new

_BOM = b"\xef\xbb\xbf"
_NUMBER = re.compile(r"[1-9][0-9]{0,8}", re.ASCII)
_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_RESAVED = "Likely cause: opened and saved again by a spreadsheet or an editor."
_KEEP = "Leave the file as it is and look for an untouched copy; go on in a new session."


@dataclass(frozen=True, slots=True)
class Scan:
    """What a trail holds and how far it can be trusted.

    ``events[n]`` is the event of row ``n + 1``; the list ends where a row cannot be read or the
    numbering breaks, and it may hold rows beyond ``rows`` whose cells were changed.
    """

    events: list[Event]
    rows: int  # good rows from the first on
    last_link: str  # the link of the last good row
    good_end: int  # bytes up to the end of the last good row
    torn: bytes  # what an interrupted save left after it
    problems: tuple[Problem, ...]

    @property
    def intact(self) -> bool:
        """True where nothing was edited or damaged; an interrupted save is no damage."""
        return not self.problems

    @property
    def is_content_intact(self) -> bool:
        """True where every cell is as it was written, though maybe saved again in another form."""
        return all(problem.severity == "warning" for problem in self.problems)


class _Line(NamedTuple):
    """One line as it stands, newline included where it has one."""

    raw: bytes
    number: int  # counted from 1
    end: int  # offset after its last byte


def scan_trail(
    data: bytes | Iterable[bytes], *, first_link: str, digest: str = "", file: str = TRAIL_NAME
) -> Scan:
    """Scan a trail.

    Args:
        data: the file's bytes, whole or in pieces of any size.
        first_link: where the chain begins, from ``session.toml``.
        digest: SHA-256 of ``session.toml`` in hex, which the first row must carry; empty leaves
            that unchecked.
        file: the name used in findings.
    """
    reader = _Reader(first_link, digest, file)
    parts = blocks([data] if isinstance(data, bytes) else data)
    for block in parts:
        if reader.take_block(block):
            continue
        lines = reader.lines(block)
        for line in lines:
            if line.number == 1:
                reader.take_header(line)
            elif not reader.take_good(line):
                after = itertools.chain.from_iterable(map(reader.lines, parts))
                reader.take_faulty(line, itertools.chain(lines, after))
                return reader.result()
            if reader.is_stopped:
                return reader.result()
    return reader.result()


def _up_to(lines: Iterator[_Line], size: int) -> list[_Line]:
    """The next lines until more than ``size`` bytes are taken."""
    taken: list[_Line] = []
    while size >= 0 and (line := next(lines, None)) is not None:
        taken.append(line)
        size -= len(line.raw)
    return taken


def _is_whole_row(raw: bytes) -> bool:
    """Whether a line has the shape of a row, or of two run together, be its cells right or wrong.

    Quotation marks are not looked at, nor whether it is UTF-8: either may be what was changed.
    """
    return raw.endswith(b"\n") and b"\0" not in raw and raw.count(b",") >= len(COLUMNS) - 1


@dataclass(slots=True)
class _Reader:
    """The state of one scan."""

    link: str | None  # of the highest row so far; None where it is not known
    digest: str
    file: str
    line: int = 0  # lines read
    end: int = 0  # bytes read
    separator: str = ","
    events: list[Event] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    rows: int = 0
    good_link: str = ""
    good_end: int = 0
    torn: bytes = b""
    is_stopped: bool = False
    # What follows serves findings only.
    highest: int = 0  # highest row number so far
    last_time: str = ""
    other_link: str = ""  # what the link of the row before should have been, where it was wrong
    gaps: list[tuple[int, int]] = field(default_factory=list)
    is_numbered: bool = True  # events still stand at their rows' places
    seen_forms: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.good_link = self.link or ""

    def result(self) -> Scan:
        if self.rows == 0 and all(problem.severity == "warning" for problem in self.problems):
            self._find(
                "The trail has no first row.",
                _KEEP + " Likely cause: cut short by another program or by a copy that was not finished.",
                line=None,
            )
        return Scan(self.events, self.rows, self.good_link, self.good_end, self.torn, tuple(self.problems))

    def lines(self, block: bytes) -> Iterator[_Line]:
        """The lines of the next block, newlines included."""
        for raw in io.BytesIO(block):  # at newline bytes and at nothing else
            self.line += 1
            self.end += len(raw)
            yield _Line(raw, self.line, self.end)

    # --- the header -----------------------------------------------------------------------

    def take_header(self, line: _Line) -> None:
        if line.raw == HEADER:
            self.good_end = line.end
            return
        text = line.raw.removeprefix(_BOM).rstrip(b"\r\n").decode(errors="replace")
        for separator in _SEPARATORS:
            try:
                cells = split_line(text, separator)
            except RowError:
                continue
            if tuple(cells) == COLUMNS:
                self.separator = separator
                self._note_form(line)
                self.good_end = line.end
                return
        self.is_stopped = True
        if HEADER.startswith(line.raw):
            return  # cut short; there is no row either, and that is the finding
        if line.raw.startswith(b"1,") and _is_whole_row(line.raw):
            self._find("The line with the column names is missing.", f"{_RESAVED} {_KEEP}", line=1)
        elif line.raw.strip(b"\0") == b"":
            self._find("The file holds NUL bytes only.", f"The medium lost its content. {_KEEP}", line=1)
        else:
            self._find(
                "The first line does not hold the column names of a trail, or not in their order.",
                f"Likely cause: another file, or columns moved in a spreadsheet. {_KEEP}",
                line=1,
            )

    def _note_form(self, line: _Line) -> None:
        """Say once for each way in which the file's form is not the one it was written in."""
        raw = line.raw
        forms = {
            "a byte order mark stands at its start": line.number == 1 and raw.startswith(_BOM),
            "lines end in CR LF": raw.endswith(b"\r\n"),
            f"cells are parted by {_SEPARATORS[self.separator]}": self.separator != ",",
            "the last line has no line end": not raw.endswith(b"\n"),
        }
        found = [form for form, is_so in forms.items() if is_so] or ["cells are quoted in another way"]
        for form in found:
            if form not in self.seen_forms:
                self.seen_forms.add(form)
                self._find(
                    f"The file was saved again in another form: {form}.",
                    f"{_RESAVED} Cells that are not named below are as they were written. {_KEEP}",
                    line=line.number,
                    severity="warning",
                )

    # --- rows -----------------------------------------------------------------------------

    def take_block(self, block: bytes) -> bool:
        """Take rows that follow the chain, all in order. False where not; nothing has changed then."""
        if self.link is None or self.rows == 0 or self.problems:
            return False
        found = read_block(block, self.rows + 1, self.link, self.last_time)
        if found is None:
            return False
        self.line += len(found.events)
        self.end += len(block)
        self.events += found.events
        self.rows = self.highest = self.rows + len(found.events)
        self.good_end = self.end
        self.good_link = self.link = found.last_link
        self.last_time = found.last_time
        return True

    def take_good(self, line: _Line) -> bool:
        """Take a row that follows the chain. False where it does not; nothing has changed then."""
        raw = line.raw
        if len(raw) > MAX_LINE or not (raw.endswith(b"\n") or self.seen_forms):
            return False
        try:
            text = raw.removesuffix(b"\n").decode()
            cells = split_line(text.removesuffix("\r"), self.separator)
        except (UnicodeDecodeError, RowError):
            return False
        if len(cells) != len(COLUMNS) or cells[0] != str(self.rows + 1) or self.link is None:
            return False
        stored = cells.pop()
        if chain.link(self.link, cells) != stored:
            return False
        cells.append(stored)
        self.rows += 1
        self.good_end = line.end
        self.good_link = self.link = stored
        self.highest = self.rows
        self._take_cells(cells, text, line)
        return True

    def _take_cells(self, cells: list[str], text: str, line: _Line) -> None:
        """Take the event of a row whose place is known; find fault with form, time and content."""
        is_as_written = '"' not in text and line.raw[-1:] == b"\n" and line.raw[-2:] != b"\r\n"
        if not (is_as_written and self.separator == ",") and format_line(cells) != line.raw:
            self._note_form(line)
        is_plain = len(text) <= MAX_LENGTH and text.isascii() and text.isprintable()
        try:
            event = parse_row(cells, is_plain=is_plain)
        except RowError as error:
            self.is_numbered = False
            what = error.what[:1].upper() + error.what[1:]
            self._find(f"Row {cells[0]}: {what}.", _KEEP, line=line.number, column=error.column)
            return
        if cells[1] < self.last_time:
            self._find(
                f"Row {cells[0]} is timed before the row above it.",
                f"Likely cause: rows put together from two files. {_KEEP}",
                line=line.number,
                column="time",
            )
        self.last_time = cells[1]
        if self.is_numbered:
            self.events.append(event)
        if self.highest == 1:
            self._check_start(event, line)

    def _check_start(self, event: Event, line: _Line) -> None:
        if not isinstance(event, Started):
            self._find("Row 1 is not the start of a session.", _KEEP, line=line.number, column="kind")
        elif self.digest and event.ref != self.digest:
            self._find(
                "Row 1 does not carry the digest of the session.toml beside it.",
                f"Likely cause: session.toml was changed, or the two belong to different sessions. {_KEEP}",
                line=line.number,
                column="ref",
            )

    def take_faulty(self, line: _Line, lines: Iterator[_Line]) -> None:
        """Take the first line that is no good row, and what follows it."""
        rest = [line, *_up_to(lines, MAX_LINE - len(line.raw))]
        if self.is_torn(rest):
            self.torn = b"".join(item.raw for item in rest)
            return
        for item in itertools.chain(rest, lines):
            self.take_doubtful(item)
            if self.is_stopped:
                return

    def is_torn(self, rest: list[_Line]) -> bool:
        """Whether what follows the good rows is what an interrupted save leaves."""
        return (
            not self.problems
            and self.rows > 0
            and sum(len(item.raw) for item in rest) <= MAX_LINE
            and not any(_is_whole_row(item.raw) for item in rest)
        )

    # --- rows behind the first fault ------------------------------------------------------

    def take_doubtful(self, line: _Line) -> None:
        """Take a line of a file that is known not to be good; say what is wrong with it."""
        if len(line.raw) > MAX_LINE:
            is_blank = not line.raw.strip(b"\0")
            what = f"The line is longer than {MAX_LINE} bytes" + (
                " and holds NUL bytes only." if is_blank else "."
            )
            cause = "Likely cause: the medium lost this part. " if is_blank else ""
            self._find(what, f"{cause}Not read any further. {_KEEP}", line=line.number)
            self.is_stopped = True
            return
        text = line.raw.rstrip(b"\r\n")
        try:
            cells = split_line(text.decode(), self.separator)
        except UnicodeDecodeError:
            self._lose_row(line, "it is not UTF-8 text", "saved in another character set")
            return
        except RowError as error:
            self._lose_row(line, error.what, "a cell edited by hand")
            return
        if not (line.raw.endswith(b"\n") or self.seen_forms):
            self._lose_row(line, "its line end is missing", "cut short")
        elif b"\0" in text:
            self._lose_row(line, "it holds NUL bytes", "the medium lost this part in a power cut")
        elif len(cells) != len(COLUMNS):
            self._lose_row(
                line,
                f"it has {len(cells)} cells, not {len(COLUMNS)}",
                "a line added, broken in two or cut short, or cells parted by another sign",
            )
        elif _NUMBER.fullmatch(cells[0]) is None:
            self._lose_row(line, f"{cells[0]!r} is not a row number", "the cell was changed")
        else:
            self._take_numbered(cells, text.decode(), line)

    def _lose_row(self, line: _Line, why: str, cause: str) -> None:
        """A line that cannot be read stands, as far as one can know, in the next row's place."""
        self._find(
            f"Row {self.highest + 1} cannot be read: {why}.",
            f"Likely cause: {cause}. {_KEEP}",
            line=line.number,
        )
        self.highest += 1
        self.link = None
        self.other_link = ""
        self.is_numbered = False

    def _take_numbered(self, cells: list[str], text: str, line: _Line) -> None:
        number = int(cells[0])
        if number <= self.highest:
            self.is_numbered = False
            is_moved = any(first <= number <= last for first, last in self.gaps)
            self._find(
                f"Row {number} stands out of its place." if is_moved else f"Row {number} stands twice.",
                f"Likely cause: {'rows swapped or sorted' if is_moved else 'a row copied'}. {_KEEP}",
                line=line.number,
                column="row",
            )
            return
        is_next = number == self.highest + 1
        if not is_next:
            self._note_gap(self.highest + 1, number - 1, line)
        elif self.link is not None:
            self._check_link(cells, line)
        self.highest = number
        self.other_link = chain.link(self.link, cells[:-1]) if self.link and is_next else ""
        self.link = cells[-1]
        self._take_cells(cells, text, line)

    def _note_gap(self, first: int, last: int, line: _Line) -> None:
        self.is_numbered = False
        self.gaps.append((first, last))  # no more of them than findings
        named = f"Row {first} is" if first == last else f"Rows {first} to {last} are"
        self._find(
            f"{named} missing before row {last + 1}.",
            f"Likely cause: rows deleted, swapped or sorted. {_KEEP}",
            line=line.number,
            column="row",
        )

    def _check_link(self, cells: list[str], line: _Line) -> None:
        assert self.link is not None  # the caller looked
        if chain.link(self.link, cells[:-1]) == cells[-1]:
            return
        if self.other_link and chain.link(self.other_link, cells[:-1]) == cells[-1]:
            what = (
                f"The chain cell of row {int(cells[0]) - 1} was changed; row {cells[0]} fits its other cells."
            )
        else:
            what = f"A cell of row {cells[0]} was changed after it was written."
        self._find(
            what,
            f"Likely cause: edited by hand, or rewritten by a spreadsheet (1.50 becomes 1.5). {_KEEP}",
            line=line.number,
        )

    def _find(
        self, what: str, remedy: str, *, line: int | None, column: str = "", severity: Severity = "error"
    ) -> None:
        if len(self.problems) > MAX_PROBLEMS:
            return
        if len(self.problems) == MAX_PROBLEMS:
            self.is_stopped = True
            what, remedy, column, severity = (
                "There are more findings than are listed here.",
                _KEEP,
                "",
                "error",
            )
        self.problems.append(
            Problem(what, remedy, file=self.file, line=line, field=column, severity=severity)
        )
