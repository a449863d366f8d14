"""A record is edited, shortened, shuffled, saved again or forged: what ``verify`` says of each."""

from __future__ import annotations

import csv
import io
import random
import shutil
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from fieldtui.cli import main
from fieldtui.core.trail import chain
from fieldtui.desk.verifying import Paper, Verified, verify_session
from fieldtui.errors import WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.session.file import parse_session
from fieldtui.files.trail.rows import COLUMNS, format_line, split_line
from fieldtui.files.trail.scan import Scan, scan_trail
from tests.desk.scenes import START, Scene, SetClock, record

EMPTY = ""


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed session with texts, numbers and every kind of quoting in it."""
    with Scene(tmp_path_factory.mktemp("original")).begin() as desk:
        record(desk, "1.380", "2.60", "1.20")
        desk.void(2, 'wrong clip, "left" one')
        desk.note("=1+1")
        desk.skip("paint")
        record(desk, "1.50")
        desk.close("weather")
        return desk.folder


@pytest.fixture
def folder(original: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(original, tmp_path / original.name))


def lines_of(folder: Path) -> list[bytes]:
    return (folder / "trail.csv").read_bytes().splitlines(keepends=True)


def verified(folder: Path, data: bytes | list[bytes], paper: Paper | None = None) -> Verified:
    (folder / "trail.csv").write_bytes(data if isinstance(data, bytes) else b"".join(data))
    return verify_session(Disk(), folder, paper)


def paper_of(folder: Path) -> Paper:
    found = verify_session(Disk(), folder)
    return Paper.copied(found.seal, found.rows)


def scan_of(folder: Path) -> Callable[[list[bytes]], Scan]:
    """What ``verify`` finds in lines put in the trail's place; without judging the values, thus fast."""
    facts = parse_session((folder / "session.toml").read_bytes(), "session.toml")
    return lambda lines: scan_trail(b"".join(lines), first_link=facts.first_link)


def names_row(found: Verified | Scan, row: int) -> bool:
    """Whether a finding names this row in words, or stands at its line (the header is line 1)."""
    return any(f"ow {row} " in each.what or f"ow {row}:" in each.what for each in found.problems) or any(
        each.line == row + 1 for each in found.problems
    )


# --- cells ------------------------------------------------------------------------------------


def changed(cell: str, column: str) -> list[str]:
    """What may become of a cell: something else, something near, something outrageous."""
    others = [cell + "1", EMPTY, "0", "x", "\u202ex", "=1+1", "9" * 30]
    if column == "value":
        others += [cell.rstrip("0"), cell.replace(".", ","), "1E+3", "NaN", "１.５"]
    if column == "time":
        others += [cell.replace("Z", ""), "2026-13-45T99:00:00.000Z", "01/02/26 10:00"]
    if column == "chain":
        others += [cell.upper(), cell[::-1], "0" * 32]
    return [other for other in others if other != cell]


@pytest.mark.parametrize("column", COLUMNS)
def test_each_change_of_one_cell_names_its_row(folder: Path, column: str) -> None:
    lines = lines_of(folder)
    scan = scan_of(folder)
    place = COLUMNS.index(column)
    tries = 0
    for row in range(1, len(lines)):
        cells = split_line(lines[row].decode().removesuffix("\n"))
        for other in changed(cells[place], column):
            edited = format_line([*cells[:place], other, *cells[place + 1 :]])
            found = scan([*lines[:row], edited, *lines[row + 1 :]])
            assert not found.is_content_intact
            assert names_row(found, row), (row, other, found.problems)
            assert all(each.remedy for each in found.problems)
            tries += 1
    assert tries > 50
    assert names_row(verified(folder, [*lines[:row], edited, *lines[row + 1 :]]), row)


def test_a_changed_column_name_or_a_missing_header_is_named(folder: Path) -> None:
    lines = lines_of(folder)
    for header in (lines[0].replace(b"verdict", b"result"), b",".join(lines[0].split(b",")[::-1]), b""):
        found = verified(folder, [header, *lines[1:]])
        assert not found.ok
        assert found.problems[0].line == 1
        assert "column names" in found.problems[0].what


# --- rows -------------------------------------------------------------------------------------


def test_each_row_taken_out_is_missed(folder: Path) -> None:
    lines = lines_of(folder)
    for row in range(1, len(lines) - 1):  # without the last one see below
        found = verified(folder, lines[:row] + lines[row + 1 :])
        assert not found.ok
        assert f"Row {row} is missing before row {row + 1}." in [each.what for each in found.problems]
    found = verified(folder, lines[:3] + lines[6:])
    assert "Rows 3 to 5 are missing before row 6." in [each.what for each in found.problems]


def test_each_pair_of_neighbours_swapped_is_named(folder: Path) -> None:
    lines = lines_of(folder)
    for row in range(1, len(lines) - 1):
        found = verified(folder, [*lines[:row], lines[row + 1], lines[row], *lines[row + 2 :]])
        assert not found.ok
        assert f"Row {row} stands out of its place." in [each.what for each in found.problems]
        assert any("swapped or sorted" in each.remedy for each in found.problems)


def test_each_row_doubled_is_named(folder: Path) -> None:
    lines = lines_of(folder)
    for row in range(1, len(lines)):
        found = verified(folder, [*lines[: row + 1], lines[row], *lines[row + 1 :]])
        assert not found.ok
        assert f"Row {row} stands twice." in [each.what for each in found.problems]


def test_rows_in_a_chance_order_are_found(folder: Path) -> None:
    lines = lines_of(folder)
    chance = random.Random(5)
    for _ in range(40):
        rows = lines[1:]
        chance.shuffle(rows)
        if rows != lines[1:]:
            assert not scan_of(folder)([lines[0], *rows]).is_content_intact


def test_a_row_of_another_session_is_found(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    later = SetClock(START + timedelta(hours=1))
    with Scene(tmp_path / "other", clock=later).begin() as desk:
        record(desk, "1.381", "2.60", "1.20")
        other = lines_of(desk.folder)
    lines = lines_of(folder)
    for row in range(1, len(other)):
        found = verified(folder, [*lines[:row], other[row], *lines[row + 1 :]])
        assert not found.ok
        assert names_row(found, row)


# --- saved again by other programs --------------------------------------------------------------


def saved_again(data: bytes, **form: object) -> bytes:
    """What a program does that reads CSV and writes it in its own way."""
    out = io.StringIO()
    rows = csv.reader(io.StringIO(data.decode(), newline=""))
    csv.writer(out, **form).writerows(rows)  # type: ignore[arg-type]
    return out.getvalue().encode()


RESAVES: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "byte order mark": (lambda data: b"\xef\xbb\xbf" + data, "byte order mark"),
    "CR LF": (lambda data: data.replace(b"\n", b"\r\n"), "CR LF"),
    "all cells quoted": (
        lambda data: saved_again(data, quoting=csv.QUOTE_ALL, lineterminator="\n"),
        "quoted in another way",
    ),
    "semicolons": (lambda data: saved_again(data, delimiter=";", lineterminator="\n"), "semicolons"),
    "tabs": (lambda data: saved_again(data, delimiter="\t", lineterminator="\n"), "tabs"),
    "mark, CR LF, semicolons": (
        lambda data: b"\xef\xbb\xbf" + saved_again(data, delimiter=";"),
        "byte order mark",
    ),
}


@pytest.mark.parametrize(("save", "words"), RESAVES.values(), ids=RESAVES.keys())
def test_a_file_saved_again_in_another_form_is_told_from_a_changed_one(
    folder: Path, save: Callable[[bytes], bytes], words: str
) -> None:
    before = verify_session(Disk(), folder)
    found = verified(folder, save(b"".join(lines_of(folder))))
    assert not found.ok
    assert {each.severity for each in found.problems} == {"warning"}
    assert any(words in each.what for each in found.problems)
    assert all("spreadsheet or an editor" in each.remedy for each in found.problems)
    assert (found.rows, found.seal) == (before.rows, before.seal)  # every cell is as it was


SPREADSHEET_CELLS: dict[str, Callable[[bytes], bytes]] = {
    "noughts at the end": lambda data: data.replace(b",1.380,", b",1.38,"),
    "decimal comma": lambda data: data.replace(b",2.60,", b',"2,60",'),
    "the time reformatted": lambda data: data.replace(b"T", b" ", 1),
    "the apostrophe gone": lambda data: data.replace(b",'=1+1,", b",=1+1,"),
    "the formula run": lambda data: data.replace(b",'=1+1,", b",2,"),
    "another character set": lambda data: data.replace(b"weather", "wéather".encode("latin-1")),
}


@pytest.mark.parametrize("change", SPREADSHEET_CELLS.values(), ids=SPREADSHEET_CELLS.keys())
def test_a_cell_that_a_spreadsheet_rewrote_names_row_and_cause(
    folder: Path, change: Callable[[bytes], bytes]
) -> None:
    lines = lines_of(folder)
    edited = [lines[0], *map(change, lines[1:])]
    rows = [row for row in range(1, len(lines)) if edited[row] != lines[row]]
    assert rows, "the change touches nothing"
    found = verified(folder, edited)
    assert not found.ok
    assert any(each.severity == "error" for each in found.problems)
    assert names_row(found, rows[0])
    assert all(each.remedy for each in found.problems)


def test_a_session_file_that_was_edited_is_found(folder: Path) -> None:
    session = folder / "session.toml"
    session.write_bytes(session.read_bytes() + b"# a remark\n")
    found = verify_session(Disk(), folder)
    assert not found.ok
    assert any("digest of the session.toml" in each.what for each in found.problems)


# --- what only the paper shows -------------------------------------------------------------------


def test_rows_cut_off_at_the_end_are_seen_against_the_paper_only(folder: Path) -> None:
    paper = paper_of(folder)
    lines = lines_of(folder)
    for kept in range(2, len(lines)):
        assert verified(folder, lines[:kept]).ok, "no chain can show this; say so plainly where it is told"
        found = verified(folder, lines[:kept], paper)
        assert not found.ok
        rows, seal = found.problems
        assert rows.what.startswith(f"The number of rows differs: {len(lines) - 1} on paper, {kept - 1} ")
        assert f"{len(lines) - kept} missing at the end" in rows.remedy
        assert seal.what.startswith("The seal differs: ")


def forged(lines: list[bytes], first_link: str, change: Callable[[bytes], bytes]) -> list[bytes]:
    """Every row changed at will, and the chain computed anew, as anybody can who has the program."""
    link = first_link
    made = [lines[0]]
    for line in lines[1:]:
        cells = split_line(change(line).decode().removesuffix("\n"))[:-1]
        link = chain.link(link, cells)
        made.append(format_line([*cells, link]))
    return made


def test_a_chain_computed_anew_is_seen_against_the_paper_only(folder: Path) -> None:
    paper = paper_of(folder)
    first_link = next(
        line.partition('"')[2].rstrip('"')
        for line in (folder / "session.toml").read_text(encoding="utf-8").splitlines()
        if line.startswith("chain = ")
    )
    lines = lines_of(folder)
    assert forged(lines, first_link, lambda line: line) == lines  # the forger's tool is right
    made = forged(lines, first_link, lambda line: line.replace(b",1.20,", b",1.10,"))
    assert made != lines
    assert verified(folder, made).ok
    (seal,) = verified(folder, made, paper).problems
    assert seal.what.startswith("The seal differs: ")
    assert "made anew" in seal.remedy


def test_the_paper_agrees_however_the_seal_is_copied(folder: Path) -> None:
    found = verify_session(Disk(), folder)
    for seal in (found.seal, found.seal.upper(), found.seal.replace(" ", ""), f"  {found.seal}\t"):
        assert verify_session(Disk(), folder, Paper.copied(seal, found.rows)).ok
    assert verify_session(Disk(), folder, Paper.copied(found.seal, None)).ok
    assert verify_session(Disk(), folder, Paper.copied(None, found.rows)).ok


def test_a_record_that_went_on_after_the_paper_says_so(folder: Path) -> None:
    found = verify_session(Disk(), folder)
    (rows,) = verify_session(Disk(), folder, Paper.copied(None, found.rows - 2)).problems
    assert "2 more than when the paper was signed" in rows.remedy


@pytest.mark.parametrize("seal", ["", "0123", "0" * 31, "0" * 33, "g" * 32, "１" * 32, "0" * 31 + "\x1b"])
def test_what_is_no_whole_seal_is_not_compared(seal: str) -> None:
    with pytest.raises(WrongUseError, match="not a whole seal"):
        Paper.copied(seal, None)


def test_the_command_holds_a_session_against_its_paper(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = verify_session(Disk(), folder)
    rows = str(found.rows)
    assert main(["verify", str(folder), "--seal", found.seal.upper(), "--rows", rows]) == 0
    assert capsys.readouterr().out.startswith("intact: ")
    other = found.seal.replace(found.seal[0], "0" if found.seal[0] != "0" else "1")
    assert main(["verify", str(folder), "--seal", other, "--rows", rows]) == 1
    out = capsys.readouterr().out
    assert "The seal differs" in out and "number of rows differs" not in out
    assert main(["verify", str(folder), "--rows", "3", "--seal", found.seal]) == 1
    out = capsys.readouterr().out
    assert "number of rows differs: 3 on paper" in out and "The seal differs" not in out
    assert main(["verify", str(folder), "--seal", "0123"]) == 2
    assert "not a whole seal" in capsys.readouterr().err
    assert main(["verify", str(folder), "--rows", "many"]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_an_unfinished_last_row_is_told_and_no_row_is_missed(folder: Path) -> None:
    lines = lines_of(folder)
    found = verified(folder, [*lines[:-1], lines[-1][:30]])
    (torn,) = found.problems
    assert not found.ok
    assert torn.severity == "warning"
    assert torn.what == f"After row {len(lines) - 2} stand 30 bytes of a row that is not finished."
    assert "a cut copy looks the same" in torn.remedy and "against the job card" in torn.remedy


def test_a_session_that_cannot_be_read_is_not_said_to_agree(folder: Path) -> None:
    paper = paper_of(folder)
    (folder / "session.toml").write_bytes(b"[[[")
    found = verify_session(Disk(), folder, paper)
    assert not found.ok
    assert any("none in the trail" in each.what for each in found.problems)
