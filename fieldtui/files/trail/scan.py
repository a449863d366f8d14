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

from fieldtui.core.text import MAX_LENGTH
from fieldtui.core.trail import chain
from fieldtui.core.trail.events import Event, Started
from fieldtui.errors import Problem, Severity
from fieldtui.files.trail.blocks import blocks, read_block
from fieldtui.files.trail.lines import Line, is_whole_row, up_to
from fieldtui.files.trail.rows import COLUMNS, HEADER, MAX_LINE, RowError, format_line, parse_row, split_line
from fieldtui.files.trail.scanned import NONE_UNREAD, Scan, Unread

__all__ = ["MAX_PROBLEMS", "TRAIL_NAME", "Scan", "scan_trail"]

TRAIL_NAME = "trail.csv"
MAX_PROBLEMS = 100  # more findings than this say nothing new

_BOM = b"\xef\xbb\xbf"
_NUMBER = re.compile(r"[1-9][0-9]{0,8}", re.ASCII)
_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_RESAVED = "Likely cause: opened and saved again by a spreadsheet or an editor."
_KEEP = "Leave the file as it is and look for an untouched copy; go on in a new session."


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
                reader.take_faulty(line, itertools.chain(lines, reader.all_lines(parts)))
                return reader.result()
            if reader.is_stopped:
                reader.pass_over(itertools.chain(lines, reader.all_lines(parts)))
                return reader.result()
    return reader.result()


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
    unproven_from: int = 0
    unread: Unread = NONE_UNREAD
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
            self.unproven_from = 1
        return Scan(
            self.events,
            self.rows,
            self.good_link,
            self.good_end,
            self.torn,
            tuple(self.problems),
            self.unproven_from,
            self.unread,
        )

    def lines(self, block: bytes) -> Iterator[Line]:
        """The lines of the next block, newlines included."""
        for raw in io.BytesIO(block):  # at newline bytes and at nothing else
            self.line += 1
            self.end += len(raw)
            yield Line(raw, self.line, self.end)

    def all_lines(self, parts: Iterator[bytes]) -> Iterator[Line]:
        """The lines of every block that follows."""
        return itertools.chain.from_iterable(map(self.lines, parts))

    # --- the header -----------------------------------------------------------------------

    def take_header(self, line: Line) -> None:
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
        self._doubt(1)
        if len(line.raw) > MAX_LINE or (line.raw.startswith(b"1,") and is_whole_row(line.raw)):
            self._leave_unread(line.raw)
        if HEADER.startswith(line.raw):
            return  # cut short; there is no row either, and that is the finding
        if line.raw.startswith(b"1,") and is_whole_row(line.raw):
            self._find("The line with the column names is missing.", f"{_RESAVED} {_KEEP}", line=1)
        elif line.raw.strip(b"\0") == b"":
            self._find("The file holds NUL bytes only.", f"The medium lost its content. {_KEEP}", line=1)
        else:
            self._find(
                "The first line does not hold the column names of a trail, or not in their order.",
                f"Likely cause: another file, or columns moved in a spreadsheet. {_KEEP}",
                line=1,
            )

    def _note_form(self, line: Line) -> None:
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

    def take_good(self, line: Line) -> bool:
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

    def _take_cells(self, cells: list[str], text: str, line: Line) -> None:
        """Take the event of a row whose place is known; find fault with form, time and content."""
        is_as_written = '"' not in text and line.raw[-1:] == b"\n" and line.raw[-2:] != b"\r\n"
        if not (is_as_written and self.separator == ",") and format_line(cells) != line.raw:
            self._note_form(line)
        is_plain = len(text) <= MAX_LENGTH and text.isascii() and text.isprintable()
        try:
            event = parse_row(cells, is_plain=is_plain)
        except RowError as error:
            self.is_numbered = False
            self._doubt(self.highest)
            self._leave_unread(line.raw)
            what = error.what[:1].upper() + error.what[1:]
            self._find(f"Row {cells[0]}: {what}.", _KEEP, line=line.number, column=error.column)
            return
        if cells[1] < self.last_time:
            self._doubt(self.highest)
            self._find(
                f"Row {cells[0]} is timed before the row above it.",
                f"Likely cause: rows put together from two files. {_KEEP}",
                line=line.number,
                column="time",
            )
        self.last_time = cells[1]
        if self.is_numbered:
            self.events.append(event)
        else:
            self._leave_unread(line.raw)
        if self.highest == 1:
            self._check_start(event, line)

    def _check_start(self, event: Event, line: Line) -> None:
        if not isinstance(event, Started):
            self._doubt(1)
            self._find("Row 1 is not the start of a session.", _KEEP, line=line.number, column="kind")
        elif self.digest and event.ref != self.digest:
            self._doubt(1)  # limits and meter, by which every row is judged, may be others
            self._find(
                "Row 1 does not carry the digest of the session.toml beside it.",
                f"Likely cause: session.toml was changed, or the two belong to different sessions. {_KEEP}",
                line=line.number,
                column="ref",
            )

    def take_faulty(self, line: Line, lines: Iterator[Line]) -> None:
        """Take the first line that is no good row, and what follows it."""
        rest = [line, *up_to(lines, MAX_LINE - len(line.raw))]
        if self.is_torn(rest):
            self.torn = b"".join(item.raw for item in rest)
            return
        self._doubt(self.rows + 1)
        after = itertools.chain(rest, lines)
        for item in after:
            self.take_doubtful(item)
            if self.is_stopped:
                self.pass_over(after)
                return

    def pass_over(self, lines: Iterator[Line]) -> None:
        """Count what stands behind the place where the reading stopped."""
        while self.unread.is_all and (line := next(lines, None)) is not None:
            self._leave_unread(line.raw)

    def _leave_unread(self, raw: bytes) -> None:
        self.unread = self.unread.and_line(raw, self.separator)

    def _doubt(self, row: int) -> None:
        """From this row on, or from one before it, nothing is known to be as it was written."""
        self.unproven_from = min(row, self.unproven_from or row)

    def is_torn(self, rest: list[Line]) -> bool:
        """Whether what follows the good rows is what an interrupted save leaves."""
        return (
            not self.problems
            and self.rows > 0
            and sum(len(item.raw) for item in rest) <= MAX_LINE
            and not any(is_whole_row(item.raw) for item in rest)
        )

    # --- rows behind the first fault ------------------------------------------------------

    def take_doubtful(self, line: Line) -> None:
        """Take a line of a file that is known not to be good; say what is wrong with it."""
        if len(line.raw) > MAX_LINE:
            is_blank = not line.raw.strip(b"\0")
            what = f"The line is longer than {MAX_LINE} bytes" + (
                " and holds NUL bytes only." if is_blank else "."
            )
            cause = "Likely cause: the medium lost this part. " if is_blank else ""
            self._find(what, f"{cause}Not read any further. {_KEEP}", line=line.number)
            self._leave_unread(line.raw)
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

    def _lose_row(self, line: Line, why: str, cause: str) -> None:
        """A line that cannot be read stands, as far as one can know, in the next row's place."""
        self._find(
            f"Row {self.highest + 1} cannot be read: {why}.",
            f"Likely cause: {cause}. {_KEEP}",
            line=line.number,
        )
        self._leave_unread(line.raw)
        self.highest += 1
        self.link = None
        self.other_link = ""
        self.is_numbered = False

    def _take_numbered(self, cells: list[str], text: str, line: Line) -> None:
        number = int(cells[0])
        if number <= self.highest:
            is_moved = any(first <= number <= last for first, last in self.gaps)
            if is_moved:  # the other way round it stands in its place already, and the next row after it
                self._leave_unread(line.raw)
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

    def _note_gap(self, first: int, last: int, line: Line) -> None:
        self.is_numbered = False
        self.gaps.append((first, last))  # no more of them than findings
        named = f"Row {first} is" if first == last else f"Rows {first} to {last} are"
        self._find(
            f"{named} missing before row {last + 1}.",
            f"Likely cause: rows deleted, swapped or sorted. {_KEEP}",
            line=line.number,
            column="row",
        )

    def _check_link(self, cells: list[str], line: Line) -> None:
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
