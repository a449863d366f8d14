from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.trail import chain
from fieldtui.core.trail.events import Event, Noted, ReadingTaken, Started
from fieldtui.core.verdict.judging import Verdict
from fieldtui.errors import Problem
from fieldtui.files.trail.rows import COLUMNS, HEADER, format_line, format_row, split_line
from fieldtui.files.trail.scan import MAX_PROBLEMS, Scan, scan_trail

FIRST = "0123456789abcdef" * 2
DIGEST = "d" * 64
START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)


def event_of(row: int) -> Event:
    time = START + timedelta(seconds=row)
    if row == 1:
        return Started(time=time, by="rec", ref=DIGEST)
    return ReadingTaken(
        time=time,
        by="rec",
        record=row - 1,
        point=f"SW-{row:02}",
        reading=Resistance(Decimal("1.50"), Unit.MOHM),
        verdict=Verdict.PASS,
        note="cap off, cleaned" if row % 3 == 0 else "",
    )


def trail_of(events: list[Event]) -> list[bytes]:
    """The header and a line for each event."""
    lines, link = [HEADER], FIRST
    for row, event in enumerate(events, start=1):
        line, link = format_row(row, event, link)
        lines.append(line)
    return lines


EVENTS = [event_of(row) for row in range(1, 13)]
LINES = trail_of(EVENTS)


def scan(data: bytes) -> Scan:
    return scan_trail(data, first_link=FIRST, digest=DIGEST)


def findings(lines: list[bytes]) -> list[Problem]:
    found = scan(b"".join(lines))
    assert not found.intact
    assert found.torn == b""
    for problem in found.problems:
        assert problem.file == "trail.csv"
        assert problem.remedy
        assert "ikely cause" in problem.remedy or "Leave the file" in problem.remedy
    return list(found.problems)


def sole_finding(lines: list[bytes]) -> Problem:
    (problem,) = findings(lines)
    return problem


def changed(row: int, column: str, cell: str) -> list[bytes]:
    """The lines with one cell changed and nothing else."""
    lines = list(LINES)
    cells = split_line(lines[row][:-1].decode())
    assert cells[COLUMNS.index(column)] != cell
    cells[COLUMNS.index(column)] = cell
    lines[row] = format_line(cells)
    return lines


def test_a_good_trail() -> None:
    found = scan(b"".join(LINES))
    assert found.intact
    assert found.is_content_intact
    assert found.events == EVENTS
    assert found.rows == 12
    assert found.last_link == split_line(LINES[-1][:-1].decode())[-1]
    assert found.good_end == sum(map(len, LINES))
    assert found.torn == b""


# --- saved again by another program, every cell as it was ---------------------------------------


def as_csv(lines: list[bytes], **form: object) -> bytes:
    rows = list(csv.reader(io.StringIO(b"".join(lines).decode(), newline="")))
    out = io.StringIO(newline="")
    csv.writer(out, **form).writerows(rows)  # type: ignore[call-overload]
    return out.getvalue().encode()


RESAVED: dict[str, tuple[bytes, list[str]]] = {
    "byte order mark": (b"\xef\xbb\xbf" + b"".join(LINES), ["byte order mark"]),
    "CR LF": (as_csv(LINES), ["CR LF"]),
    "semicolons": (as_csv(LINES, delimiter=";", lineterminator="\n"), ["semicolons"]),
    "tabs": (as_csv(LINES, delimiter="\t", lineterminator="\n"), ["tabs"]),
    "all quoted": (as_csv(LINES, quoting=csv.QUOTE_ALL, lineterminator="\n"), ["quoted in another way"]),
    "all of it": (
        b"\xef\xbb\xbf" + as_csv(LINES, delimiter=";", quoting=csv.QUOTE_ALL).removesuffix(b"\r\n"),
        ["byte order mark", "CR LF", "semicolons", "no line end"],
    ),
    "no last line end": (
        b"\xef\xbb\xbf" + b"".join(LINES).removesuffix(b"\n"),
        ["byte order mark", "no line end"],
    ),
}


@pytest.mark.parametrize(("data", "forms"), RESAVED.values(), ids=RESAVED.keys())
def test_a_file_saved_again_is_told_from_one_with_a_changed_cell(data: bytes, forms: list[str]) -> None:
    found = scan(data)
    assert not found.intact
    assert found.is_content_intact
    assert found.events == EVENTS
    assert (found.rows, found.last_link) == (12, scan(b"".join(LINES)).last_link)
    assert len(found.problems) == len(forms)
    for problem, form in zip(found.problems, forms, strict=True):
        assert form in problem.what
        assert problem.severity == "warning"
        assert "spreadsheet" in problem.remedy


def test_one_row_quoted_in_another_way_is_named_by_its_line() -> None:
    lines = list(LINES)
    lines[4] = b",".join(b'"' + cell + b'"' for cell in lines[4][:-1].split(b",")) + b"\n"
    problem = sole_finding(lines)
    assert (problem.line, problem.severity) == (5, "warning")


def test_a_spreadsheet_that_cuts_noughts_is_found_out_row_by_row() -> None:
    data = b"".join(LINES).replace(b",1.50,", b",1.5,").replace(b"\n", b"\r\n")
    found = scan(data)
    assert not found.is_content_intact
    assert found.problems[0].what.endswith("lines end in CR LF.")
    assert [problem.line for problem in found.problems[1:]] == list(range(3, 14))
    assert all("was changed" in problem.what for problem in found.problems[1:])
    assert "1.50 becomes 1.5" in found.problems[1].remedy
    assert found.rows == 1


# --- changed -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "column", "cell"),
    [(2, "value", "1.51"), (7, "point", "SW-99"), (12, "verdict", "fail"), (3, "note", ""), (1, "by", "x")],
)
def test_a_changed_cell_is_pinned_to_its_row(row: int, column: str, cell: str) -> None:
    problem = sole_finding(changed(row, column, cell))
    assert problem.what == f"A cell of row {row} was changed after it was written."
    assert problem.line == row + 1
    found = scan(b"".join(changed(row, column, cell)))
    assert found.rows == row - 1
    assert len(found.events) == 12  # all can be looked at
    assert found.good_end == sum(map(len, LINES[:row]))


def test_two_changed_cells_are_both_named() -> None:
    lines = changed(4, "value", "1.6")
    lines[8] = changed(8, "value", "1.7")[8]
    assert [problem.line for problem in findings(lines)] == [5, 9]


def test_a_changed_chain_cell_is_told_by_the_row_after_it() -> None:
    first, second = findings(changed(5, "chain", "e" * 32))
    assert "row 5 was changed" in first.what
    assert second.what == "The chain cell of row 5 was changed; row 6 fits its other cells."


def test_a_whole_last_row_that_does_not_fit_was_edited_and_is_not_torn() -> None:
    assert "row 12 was changed" in sole_finding(changed(12, "chain", "e" * 32)).what


def test_a_changed_row_that_cannot_be_read_either_is_named_for_both() -> None:
    first, second = findings(changed(5, "value", "1,5"))
    assert "row 5 was changed" in first.what
    assert second.field == "value"
    assert "use a point" in second.what
    assert len(scan(b"".join(changed(5, "value", "1,5"))).events) == 4


# --- rows gone, doubled, moved -------------------------------------------------------------------


def test_missing_rows_are_named() -> None:
    problem = sole_finding(LINES[:4] + LINES[5:])
    assert problem.what == "Row 4 is missing before row 5."
    assert problem.line == 5
    assert sole_finding(LINES[:4] + LINES[7:]).what == "Rows 4 to 6 are missing before row 7."
    assert len(scan(b"".join(LINES[:4] + LINES[5:])).events) == 3


def test_a_row_that_stands_twice_is_named() -> None:
    assert sole_finding(LINES[:6] + LINES[5:]).what == "Row 5 stands twice."


def test_swapped_rows_are_named() -> None:
    first, second = findings([*LINES[:4], LINES[5], LINES[4], *LINES[6:]])
    assert first.what == "Row 4 is missing before row 5."
    assert second.what == "Row 4 stands out of its place."
    assert "swapped" in second.remedy


def test_the_first_row_missing_is_named() -> None:
    assert findings([HEADER, *LINES[2:]])[0].what == "Row 1 is missing before row 2."


def test_a_line_put_between_is_named() -> None:
    assert "1 cells, not 15" in findings([*LINES[:4], b"hello\n", *LINES[4:]])[0].what


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (b"4,short\n", "2 cells, not 15"),
        (b'4,"open,,,,,,,,,,,,,\n', "quotation mark"),
        (b"\xff\xfe,,,,,,,,,,,,,,\n", "UTF-8"),
        (b"\0" * 40 + b"\n", "NUL"),
        (b"four,,,,,,,,,,,,,,\n", "'four' is not a row number"),
        (b"04,,,,,,,,,,,,,,\n", "'04' is not a row number"),
    ],
)
def test_a_line_that_is_no_row_is_named_and_costs_only_itself(line: bytes, words: str) -> None:
    problem = sole_finding([*LINES[:4], line, *LINES[5:]])
    assert problem.what.startswith("Row 4 cannot be read: ")
    assert words in problem.what
    assert problem.line == 5


def test_a_damaged_trail_with_a_torn_end_says_both() -> None:
    lines = changed(3, "value", "9.9")
    lines[-1] = lines[-1][:-1]
    first, second = findings(lines)
    assert "row 3 was changed" in first.what
    assert "line end is missing" in second.what


def test_two_rows_run_together_at_the_end_are_damage_not_a_torn_row() -> None:
    problem = sole_finding([*LINES[:-2], LINES[-2].replace(b"\n", b","), LINES[-1]])
    assert "Row 11 cannot be read" in problem.what


# --- good in the chain, wrong in itself ----------------------------------------------------------


def sealed(rows: list[list[str]]) -> bytes:
    """A trail whose chain is right, whatever its cells say."""
    out, link = [HEADER], FIRST
    for cells in rows:
        link = chain.link(link, cells[:-1])
        out.append(format_line([*cells[:-1], link]))
    return b"".join(out)


def rows_with(row: int, **cells: str) -> list[list[str]]:
    rows = [split_line(line[:-1].decode()) for line in LINES[1:]]
    for column, cell in cells.items():
        rows[row - 1][COLUMNS.index(column)] = cell
    return rows


def test_a_kind_of_a_newer_program_is_named_and_the_rest_is_still_checked() -> None:
    found = scan(sealed(rows_with(5, kind="teleport")))
    (problem,) = found.problems
    assert "Row 5" in problem.what
    assert "newer program" in problem.what
    assert (problem.line, problem.field) == (6, "kind")
    assert found.rows == 12
    assert len(found.events) == 4


def test_time_may_stand_still_but_not_go_back() -> None:
    same = scan(sealed(rows_with(5, time="2026-05-04T08:30:04.000Z")))
    assert same.intact
    back = scan(sealed(rows_with(5, time="2026-05-04T08:30:03.999Z")))
    (problem,) = back.problems
    assert problem.what == "Row 5 is timed before the row above it."


def test_the_first_row_starts_the_session() -> None:
    data = b"".join(trail_of([Noted(time=START, by="rec", note="x")]))
    assert [problem.what for problem in scan(data).problems] == ["Row 1 is not the start of a session."]


def test_the_first_row_carries_the_digest_of_the_session_file() -> None:
    data = b"".join(LINES)
    (problem,) = scan_trail(data, first_link=FIRST, digest="e" * 64).problems
    assert "session.toml" in problem.what
    assert (problem.line, problem.field) == (2, "ref")
    assert scan_trail(data, first_link=FIRST).intact  # unchecked


def test_another_first_link_shows_at_row_one() -> None:
    problems = scan_trail(b"".join(LINES), first_link="f" * 32, digest=DIGEST).problems
    assert problems[0].what == "A cell of row 1 was changed after it was written."


# --- how far it is proven, and what was not read -------------------------------------------------


@pytest.mark.parametrize(
    ("data", "unproven_from", "events", "unread"),
    [
        (b"".join(LINES), 0, 12, (0, 0, True)),
        (RESAVED["all of it"][0], 0, 12, (0, 0, True)),
        (b"".join(LINES)[:-9], 0, 11, (0, 0, True)),  # an interrupted save
        (b"".join(changed(4, "value", "1.6")), 4, 12, (0, 0, True)),
        (b"".join(changed(1, "by", "x")), 1, 12, (0, 0, True)),
        (b"".join(LINES[:6] + LINES[5:]), 6, 12, (0, 0, True)),  # row 5 twice
        (b"".join(LINES[:6] + LINES[3:4] + LINES[6:]), 6, 12, (0, 0, True)),  # row 3 once more
        (b"".join(LINES[:4] + LINES[5:]), 4, 3, (8, 8, True)),  # row 4 missing
        (b"".join([*LINES[:4], LINES[5], LINES[4], *LINES[6:]]), 4, 3, (9, 9, True)),  # 4 and 5 swapped
        (b"".join([*LINES[:4], b"4,short\n", *LINES[5:]]), 4, 3, (9, 8, True)),
        (b"".join(changed(5, "value", "1,5")), 5, 4, (8, 8, True)),
        (sealed(rows_with(5, kind="teleport")), 5, 4, (8, 7, True)),
        (sealed(rows_with(5, time="2026-05-04T08:30:03.999Z")), 5, 12, (0, 0, True)),
        (b"".join(LINES[1:]), 1, 0, (12, 11, True)),  # no column names
        (b"hello\n", 1, 0, (0, 0, True)),
        (b"", 1, 0, (0, 0, True)),
        (b"".join([*LINES[:4], b"x" * 9000 + b"\n", *LINES[4:]]), 4, 3, (1, 0, False)),
    ],
)
def test_what_is_proven_and_what_was_not_read(
    data: bytes, unproven_from: int, events: int, unread: tuple[int, int, bool]
) -> None:
    found = scan(data)
    assert (found.unproven_from, len(found.events), tuple(found.unread)) == (unproven_from, events, unread)


def test_where_the_findings_stop_the_rows_are_still_counted() -> None:
    lines = trail_of([event_of(row) for row in range(1, 2 * MAX_PROBLEMS)])
    found = scan(b"".join([*lines[:4], *(line.replace(b",pass,", b",fail,", 1) for line in lines[5:])]))
    assert len(found.problems) == MAX_PROBLEMS + 1
    assert found.unread.rows == len(lines) - 5


def test_another_session_file_leaves_no_row_proven() -> None:
    assert scan_trail(b"".join(LINES), first_link=FIRST, digest="e" * 64).unproven_from == 1


def test_a_row_that_stands_twice_costs_no_other_event() -> None:
    assert scan(b"".join(LINES[:6] + LINES[5:])).events == EVENTS


# --- headers, empty and hostile files --------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no first row"),
        (HEADER, "no first row"),
        (HEADER[:20], "no first row"),
        (b"".join(LINES[1:]), "column names is missing"),
        (b"\0" * 300, "NUL bytes only"),
        (b"name,age\nann,3\n", "does not hold the column names"),
        (HEADER.replace(b"row,time", b"time,row") + b"".join(LINES[1:]), "not in their order"),
        (b'"row,time\n', "does not hold the column names"),
        (b"a" * 5_000_000, "does not hold the column names"),
        (b"\xff\xfe" + "row,time".encode("utf-16-le"), "does not hold the column names"),
    ],
)
def test_what_is_no_trail_is_said_once(data: bytes, words: str) -> None:
    found = scan(data)
    (problem,) = found.problems
    assert words in problem.what
    assert not found.is_content_intact
    assert (found.events, found.rows, found.torn) == ([], 0, b"")


def test_an_overlong_line_ends_the_reading_without_filling_the_memory() -> None:
    taken = 0

    def endless() -> Iterator[bytes]:
        nonlocal taken
        yield b"".join(LINES)
        while True:
            taken += 1
            yield b"x" * 65_536

    found = scan_trail(endless(), first_link=FIRST, digest=DIGEST)
    assert taken <= 2
    assert "longer than 4096 bytes" in found.problems[-1].what
    assert (found.rows, found.problems[-1].line) == (12, 14)


def test_a_run_of_nul_bytes_after_the_rows_is_named() -> None:
    assert "NUL bytes only" in sole_finding([*LINES, b"\0" * 9_000]).what


def test_findings_are_listed_up_to_a_limit() -> None:
    found = scan(HEADER + b"junk\n" * 10_000)
    assert len(found.problems) == MAX_PROBLEMS + 1
    assert "more findings" in found.problems[-1].what


def test_hostile_row_numbers_cost_nothing() -> None:
    rows = b"".join(b"%d,,,,,,,,,,,,,,\n" % number for number in range(2, 999_999_999, 9_999_999))
    assert not scan(HEADER + LINES[1] + rows).intact


@given(st.binary(max_size=300))
def test_any_bytes_are_answered(data: bytes) -> None:
    for head in (b"", HEADER, HEADER + LINES[1]):
        found = scan(head + data)
        assert found.intact or found.problems


mutations: dict[str, Callable[[list[bytes], int], list[bytes]]] = {
    "row left out": lambda lines, n: lines[:n] + lines[n + 1 :],
    "row doubled": lambda lines, n: lines[: n + 1] + lines[n:],
    "row moved to the end": lambda lines, n: [*lines[:n], *lines[n + 1 :], lines[n]],
    "line end added": lambda lines, n: [*lines[:n], b"\n", *lines[n:]],
}


@given(st.sampled_from(sorted(mutations)), st.integers(1, 11))
def test_no_moved_row_goes_unnoticed(name: str, row: int) -> None:
    """The last row is left out of this: a trail cut at a row's end shows only beside its paper seal."""
    found = scan(b"".join(mutations[name](list(LINES), row)))
    assert found.problems
    assert found.torn == b""
    assert found.rows < 12
    assert all(problem.line for problem in found.problems)


def test_rows_cut_off_at_the_end_show_only_beside_the_seal() -> None:
    """A limit said openly: the chain cannot know what stood after its end."""
    found = scan(b"".join(LINES[:-2]))
    assert found.intact
    assert found.last_link != scan(b"".join(LINES)).last_link
