"""Files made to harm: too large, too deep, not what they seem, in another's place. Each row a test.

Whatever is put before a command, it answers within bounds, in words, with what, where and what to do;
nothing unprintable is passed on, and the file stays as it was.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from fieldtui.cli import main
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.text import is_clean
from fieldtui.desk.opening import resume_session
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import FieldtuiError, NotSavedError, SessionInUseError, WrongUseError
from fieldtui.files import durable
from fieldtui.files.csv_lines import MAX_PROBLEMS, MORE_PROBLEMS
from fieldtui.files.disk import Disk, is_safe_name
from fieldtui.files.route.columns import match_columns
from fieldtui.files.route.point_list import read_points
from fieldtui.files.route.point_table import parse_point_table
from fieldtui.files.sheet import parse_sheet
from tests.crash.loop_disk import NoLoopDiskError, small_tmpfs
from tests.crash.model import FIRST_LINK, TOML, started
from tests.desk.scenes import ROUTE, Scene, SetClock, record
from tests.fuzz.bounds import bounded

GIB = 1024**3
SHEET_HEAD = b"action,point,record,value,unit,memory,reason,note,time\n"
Maker = Callable[[Path], object]


@dataclass
class Answer:
    code: int
    out: str
    err: str

    @property
    def all(self) -> str:
        return self.out + self.err


@dataclass
class Place:
    """A workspace with one session, and a way to give commands in it."""

    root: Path
    session: Path
    capsys: pytest.CaptureFixture[str]

    def answer(self, *arguments: str) -> Answer:
        with bounded():
            code = main(list(arguments))
        said = self.capsys.readouterr()
        answer = Answer(code, said.out, said.err)
        assert "Traceback" not in answer.all
        assert "did not expect" not in answer.all
        assert all(is_clean(line) for line in answer.all.split("\n")), answer.all
        return answer

    def refuses_to_open(self, folder: Path | None = None) -> str:
        """Neither a writer nor a reader opens the session; what the writer is told."""
        with bounded(), pytest.raises(FieldtuiError) as caught:
            resume_session(Workspace(self.root, Disk()), folder or self.session, SetClock())
        error = caught.value
        assert error.what and error.where and error.remedy
        return error.what

    def refuses(self, *arguments: str) -> Answer:
        """The command must refuse, with words on what to do."""
        answer = self.answer(*arguments)
        assert answer.code in (1, 2), answer.all
        assert len(answer.all.splitlines()) >= 2, answer.all
        return answer


@pytest.fixture
def place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Iterator[Place]:
    with Scene(tmp_path).begin() as desk:
        record(desk, "1.380", "2.60")
    monkeypatch.chdir(tmp_path)
    main(["verify", str(desk.folder)])  # the first command imports; that is no input's doing
    main(["route", "check", "wing"])
    capsys.readouterr()
    yield Place(tmp_path, desk.folder, capsys)


def sparse(size: int) -> Maker:
    """A file that is large and takes no room."""

    def make(path: Path) -> None:
        path.write_bytes(b"")
        os.truncate(path, size)

    return make


def bytes_(data: bytes) -> Maker:
    return lambda path: path.write_bytes(data)


# --- TOML -----------------------------------------------------------------------------------------

GOOD = ROUTE.encode()
TOML_FILES: dict[str, tuple[Maker, str]] = {
    "1 GiB": (sparse(GIB), "larger than"),
    "100,000 lists deep": (bytes_(b"a = " + b"[" * 100_000 + b"]" * 100_000), "deep"),
    "100,000 tables deep": (bytes_(b"a = " + b"{a=" * 100_000 + b"1" + b"}" * 100_000), "deep"),
    "a key of 20,000 parts": (bytes_(b".".join([b"a"] * 20_000) + b" = 1\n"), "deep"),
    "a header of 20,000 parts": (bytes_(b"[" + b".".join([b"a"] * 20_000) + b"]\n"), "deep"),
    "an integer of 5,000 digits": (bytes_(b"format = " + b"9" * 5000 + b"\n"), "64 characters"),
    "a number of 5,000 digits": (bytes_(b"format = 0." + b"1" * 5000 + b"\n"), "64 characters"),
    "a large exponent": (bytes_(GOOD.replace(b"max = 2.5", b"max = 1e100000000")), "exponent"),
    "not a number": (bytes_(GOOD.replace(b"max = 2.5", b"max = nan")), "number"),
    "a text of 1 MB": (bytes_(b'title = "' + b"x" * 1_000_000 + b'"\n'), "title"),
    "210,000 keys": (bytes_(b"k=1\n" * 210_000), "values"),
    "10,000 unknown points": (
        bytes_(GOOD + b'[[points]]\nx="y"\n' * 10_000),
        "more problems than are listed here",
    ),
    "UTF-16": (bytes_(GOOD.decode().encode("utf-16")), "UTF-8"),
    "Latin-1": (bytes_(GOOD.replace(b"Flap", b"Fl\xe4p")), "UTF-8"),
    "NUL bytes": (bytes_(GOOD.replace(b"Flap", b"Fl\0p")), ""),
    "escape sequences": (bytes_(GOOD.replace(b"Flap", rb"\u001b]0;x\u0007")), "not allowed"),
    "a C1 control": (bytes_(GOOD.replace(b"Flap", rb"\u009b31m")), "not allowed"),
    "an override of direction": (bytes_(GOOD.replace(b"Flap", "\u202eF".encode())), "not allowed"),
    "no width": (bytes_(GOOD.replace(b"Flap", "F\u200blap".encode())), "not allowed"),
    "a flood of marks": (bytes_(GOOD.replace(b"Flap", "e\u0301\u0302\u0303\u0304\u0305".encode())), "marks"),
    "bare carriage returns": (bytes_(GOOD.replace(b"\n", b"\r")), ""),
    "empty": (bytes_(b""), ""),
    "a folder": (lambda path: path.mkdir(), ""),
    "a key twice": (bytes_(GOOD.replace(b"format = 1", b"format = 1\nformat = 1")), ""),
    "an id that is a path": (bytes_(GOOD.replace(b'"SW-01"', b'"../../x"')), "cannot be an id"),
    "an id of 300 characters": (
        bytes_(GOOD.replace(b'"SW-01"', b'"' + b"x" * 300 + b'"')),
        "cannot be an id",
    ),
}


@pytest.mark.parametrize(("make", "words"), TOML_FILES.values(), ids=TOML_FILES.keys())
def test_a_hostile_route(place: Place, make: Maker, words: str) -> None:
    path = place.root / "routes" / "bad.toml"
    make(path)
    assert words in place.refuses("route", "check", "routes/bad.toml").all
    with bounded(), pytest.raises(FieldtuiError):
        Workspace(place.root, Disk()).load_route("routes/bad.toml")


@pytest.mark.parametrize("make", [make for make, _ in TOML_FILES.values()], ids=TOML_FILES.keys())
def test_a_hostile_session_file(place: Place, make: Maker) -> None:
    path = place.session / "session.toml"
    path.unlink()
    make(path)
    for command in ("verify", "report"):
        place.refuses(command, str(place.session))
    place.refuses_to_open()


@pytest.mark.parametrize("make", [make for make, _ in TOML_FILES.values()], ids=TOML_FILES.keys())
def test_a_hostile_table(place: Place, make: Maker) -> None:
    (place.root / "shared").mkdir()
    path = place.root / "shared" / "criteria.toml"
    make(path)
    with bounded():
        try:
            tables = Workspace(place.root, Disk()).tables()
        except FieldtuiError as error:
            assert error.what and error.remedy
        else:
            assert not path.read_bytes() if path.is_file() else tables.criteria == {}


@pytest.mark.parametrize(
    "data",
    [b"\xef\xbb\xbf" + GOOD, GOOD.replace(b"\n", b"\r\n"), b"\xef\xbb\xbf" + GOOD.replace(b"\n", b"\r\n")],
    ids=["byte order mark", "CR LF", "both"],
)
def test_what_windows_editors_do_to_a_route_is_harmless(place: Place, data: bytes) -> None:
    (place.root / "routes" / "saved.toml").write_bytes(data)
    assert place.answer("route", "check", "saved").code == 0


# --- the trail --------------------------------------------------------------------------------------


def edit(change: Callable[[bytes], bytes]) -> Maker:
    return lambda path: path.write_bytes(change(path.read_bytes()))


def reordered(data: bytes) -> bytes:
    return b"".join(b",".join(line.split(b",")[::-1]) + b"\n" for line in data.splitlines())


TRAILS: dict[str, Maker] = {
    "1 GiB of NUL bytes": sparse(GIB),
    "a line of 60 MiB": sparse(60 * 1024 * 1024),
    "a cell of 10 MB": edit(lambda data: data + b"11,x,note," + b"y" * 10_000_000 + b"\n"),
    "10 million commas": edit(lambda data: data + b"," * 10_000_000 + b"\n"),
    "300,000 wrong rows": edit(lambda data: data + b"9,9,9\n" * 300_000),
    "300,000 blank lines": edit(lambda data: data + b"\n" * 300_000),
    "a quotation mark never closed": edit(lambda data: data.replace(b",reading,", b',"reading,', 1)),
    "100,000 quotation marks": edit(lambda data: data + b'"' * 100_000 + b"\n"),
    "a header twice": edit(lambda data: data.splitlines(keepends=True)[0] + data),
    "columns in another order": edit(reordered),
    "blank lines between": edit(lambda data: data.replace(b"\n", b"\n\n")),
    "UTF-16": edit(lambda data: data.decode().encode("utf-16")),
    "escape sequences": edit(lambda data: data.replace(b",Ana,", b",\x1b]52;c;eA==\x07,")),
    "C1 controls": edit(lambda data: data.replace(b",Ana,", "\u009b6n".join([",", ","]).encode())),
    "lines broken at U+2028": edit(lambda data: data.replace(b"\n", "\u2028".encode())),
    "bare carriage returns": edit(lambda data: data.replace(b"\n", b"\r")),
    "mixed line ends": edit(lambda data: data.replace(b"\n", b"\r\n", 4)),
    "semicolons": edit(lambda data: data.replace(b",", b";")),
    "tabs": edit(lambda data: data.replace(b",", b"\t")),
    "no last line end, one cell less": edit(lambda data: data.rpartition(b",")[0]),
    "a row number of 400 digits": edit(lambda data: data.replace(b"\n9,", b"\n" + b"9" * 400 + b",")),
    "other scripts' digits": edit(lambda data: data.replace(b",1.380,", ",１.３８０,".encode())),
    "an empty file": edit(lambda data: b""),
    "a folder": lambda path: (path.unlink(), path.mkdir()),
}


@pytest.mark.parametrize("make", TRAILS.values(), ids=TRAILS.keys())
def test_a_hostile_trail(place: Place, make: Maker) -> None:
    trail = place.session / "trail.csv"
    make(trail)
    before = trail.stat().st_size
    answer = place.answer("verify", str(place.session))
    assert answer.code in (1, 2)
    place.answer("report", str(place.session))
    place.answer("report", str(place.session), "--json")
    if make is not TRAILS["no last line end, one cell less"]:  # that one is what a cut-off save leaves
        place.refuses_to_open()
        assert trail.stat().st_size == before, "a damaged trail was written to"


# --- lists made by people ---------------------------------------------------------------------------

SHEETS: dict[str, Maker] = {
    "1 GiB": sparse(GIB),
    "a line of 15 MB": bytes_(SHEET_HEAD + b"x" * 15_000_000),
    "10 million commas": bytes_(SHEET_HEAD + b"," * 10_000_000),
    "100,000 commas in 100 lines": bytes_(SHEET_HEAD + (b"," * 1000 + b"\n") * 100),
    "a header of 60,000 columns": bytes_(b"a," * 30_000 + b"\n"),
    "300,000 bad lines": bytes_(SHEET_HEAD + b"x\n" * 300_000),
    "unclosed quotes": bytes_(SHEET_HEAD + b'"\n' * 5_000),
    "NUL bytes": bytes_(SHEET_HEAD + b"reading,\0,1,1\n"),
    "UTF-16": bytes_((SHEET_HEAD + b"reading,SW-01,1,1\n").decode().encode("utf-16")),
    "Latin-1": bytes_(SHEET_HEAD + b"note,,,,,,,\xe4,\n"),
    "escape sequences": bytes_(SHEET_HEAD + b"note,,,,,,,\x1b[2J\x9b31m,\n"),
    "a column twice": bytes_(b"action,action\n"),
    "an unknown column": bytes_(b"action,\x1b]0;x\x07\n"),
    "an endless number": bytes_(SHEET_HEAD + b"reading,SW-01,1," + b"1" * 10_000 + b",mohm\n"),
    "an exponent": bytes_(SHEET_HEAD + b"reading,SW-01,1,1e100000000,mohm\n"),
    "a year beyond all": bytes_(SHEET_HEAD + b"reading,SW-01,1,1,mohm,,,,9999-12-31T23:59:59-23:59\n"),
    "a folder": lambda path: path.mkdir(),
}


@pytest.mark.parametrize("make", SHEETS.values(), ids=SHEETS.keys())
def test_a_hostile_sheet_or_list(place: Place, make: Maker) -> None:
    path = place.root / "list.csv"
    make(path)
    sessions = sorted((place.root / "sessions").iterdir())
    place.refuses("transcribe", "wing", "list.csv")
    assert sorted((place.root / "sessions").iterdir()) == sessions, "a session was made of nonsense"
    place.refuses("reconcile", str(place.session), "list.csv")


WIDE = ",".join(f"reference point {number}" for number in range(3_000)).encode()
POINT_LISTS: dict[str, Maker] = {
    "1 GiB": sparse(GIB),
    "3,000 different columns": bytes_(WIDE + b"\n" + b"1," * 2_999 + b"1\n"),
    "60,000 empty columns": bytes_(b"," * 60_000 + b"\n1,2\n"),
    "a column of one letter again and again": bytes_(b"a," * 30_000 + b"\n"),
    "names of 60,000 characters": bytes_(b"id," + b"x" * 60_000 + b"\n1,2\n"),
    "limits of nothing but words": bytes_(b"id,limit\n" + b"1," + b"not less than " * 4_000 + b"\n"),
    "20,000 points": bytes_(b"id,title,max\n" + b"".join(b"A%d,B,1\n" % n for n in range(20_000))),
    "an exponent": bytes_(b"id,title,max\nA,B,1e100000000\n"),
    "endless digits": bytes_(b"id,title,max,x,y,z\nA,B," + b"1" * 60_000 + b",1,1,1\n"),
    "other scripts' digits": bytes_("id,title,max\nA,B,１٣\n".encode()),
    "escape sequences": bytes_(b"id,title,max\nA,\x1b[2J,1\n"),
    "UTF-16 without a mark": bytes_("id,title,max\nA,B,1\n".encode("utf-16-le")),
    "a folder": lambda path: path.mkdir(),
}


@pytest.mark.parametrize("make", POINT_LISTS.values(), ids=POINT_LISTS.keys())
def test_a_hostile_list_of_points(place: Place, make: Maker) -> None:
    path = place.root / "points.csv"
    make(path)
    routes = sorted((place.root / "routes").iterdir())
    place.refuses("route", "import", "points.csv", "--asset", "rig", "--unit", "mohm")
    assert sorted((place.root / "routes").iterdir()) == routes, "a route was made of nonsense"


def test_thousands_of_names_that_come_to_one_id_are_told_apart_soon() -> None:
    signs = [a + b + c for a in "!#$%&()*+;:<>?@[" for b in "!#$%&()*+;:<>?@[" for c in "!#$%&()*+;:<>?@["]
    rows = "".join(f"{number},x,1,S{sign}\n" for number, sign in enumerate(signs))
    table = parse_point_table(f"id,title,max,section\n{rows}".encode(), "points.csv")
    with bounded():
        found = read_points(table, match_columns(table, {}, ()), Unit.MOHM, {})
    assert len({section["id"] for section in found.sections}) == len(signs) == 4096


def test_of_endless_problems_the_first_thousands_are_listed_and_that_there_are_more() -> None:
    with bounded():
        problems = parse_sheet(SHEET_HEAD + b"x\n" * 300_000, "sheet.csv").problems
    assert len(problems) == MAX_PROBLEMS + 1
    assert problems[-1].what == MORE_PROBLEMS


# --- what is no plain file ------------------------------------------------------------------------


def link_to_passwd(path: Path) -> None:
    path.symlink_to("/etc/passwd")


def loop_of_links(path: Path) -> None:
    path.symlink_to(path)


def pipe(path: Path) -> None:
    os.mkfifo(path)


def socket_(path: Path) -> None:
    here = Path.cwd()
    os.chdir(path.parent)  # a socket's path may be no longer than 100 characters or so
    with socket.socket(socket.AF_UNIX) as opened:
        opened.bind(path.name)
    os.chdir(here)


def device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def twin(path: Path) -> None:
    kept = path.with_name("kept")
    kept.write_bytes(b"x")
    path.hardlink_to(kept)


ODDITIES = [link_to_passwd, loop_of_links, pipe, socket_, device, Path.mkdir]


@pytest.mark.skipif(sys.platform == "win32", reason="links, pipes and sockets of another kind")
@pytest.mark.parametrize("make", ODDITIES, ids=lambda make: make.__name__)
@pytest.mark.parametrize("name", ["trail.csv", "session.toml"])
def test_something_else_in_a_file_s_place(place: Place, name: str, make: Maker) -> None:
    path = place.session / name
    path.unlink()
    make(path)
    for command in ("verify", "report"):
        place.refuses(command, str(place.session))
    place.refuses_to_open()


@pytest.mark.skipif(sys.platform == "win32", reason="links, pipes and sockets of another kind")
@pytest.mark.parametrize("make", ODDITIES, ids=lambda make: make.__name__)
def test_something_else_in_the_lock_s_place(place: Place, make: Maker) -> None:
    path = place.session / ".lock"
    path.unlink()
    make(path)
    before = (place.session / "trail.csv").read_bytes()
    place.refuses_to_open()
    assert (place.session / "trail.csv").read_bytes() == before


@pytest.mark.skipif(sys.platform == "win32", reason="links, pipes and sockets of another kind")
@pytest.mark.parametrize("make", [*ODDITIES, twin], ids=lambda make: make.__name__)
@pytest.mark.parametrize("name", [".lock", "trail.csv", ".session.toml.tmp", "session.toml"])
def test_something_waiting_where_a_session_is_made(tmp_path: Path, name: str, make: Maker) -> None:
    """Somebody guessed the name of the next session and put a trap there."""
    target = Path("/etc/passwd").read_bytes() if make is link_to_passwd else b""

    class TrappedDisk(Disk):
        def make_folder(self, path: Path) -> None:
            super().make_folder(path)
            if path.name == "s1":
                make(path / name)

    try:
        durable.create_session(TrappedDisk(), tmp_path, "s1", TOML, FIRST_LINK, started()).close()
    except FieldtuiError as error:
        assert isinstance(error, NotSavedError | WrongUseError | SessionInUseError)
    else:
        assert (tmp_path / "s1" / "session.toml").read_bytes() == TOML
        assert not (tmp_path / "s1" / "session.toml").is_symlink()
        assert (tmp_path / "s1" / "trail.csv").stat().st_nlink == 1
    if target:
        assert Path("/etc/passwd").read_bytes() == target
    if make is twin:
        assert (tmp_path / "s1" / "kept").read_bytes() == b"x"


@pytest.mark.skipif(sys.platform == "win32", reason="links of another kind")
def test_a_trail_with_a_second_name_is_not_written(place: Place) -> None:
    (place.root / "copy.csv").hardlink_to(place.session / "trail.csv")
    before = (place.root / "copy.csv").read_bytes()
    assert "second name" in place.refuses_to_open()
    assert (place.root / "copy.csv").read_bytes() == before
    assert place.answer("verify", str(place.session)).code == 0


# --- names ------------------------------------------------------------------------------------------

NAMES = [
    *"../../x /etc/passwd CON COM1 nul.txt a/b a\\b . .. a: a. -x".split(),
    *("x" * 300, "", " ", "a\0b", "a\nb", "\x1b[2J", "\u202ex"),
]


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_a_hostile_name_makes_no_session_and_finds_none(place: Place, name: str) -> None:
    assert not is_safe_name(name)
    with pytest.raises(WrongUseError):
        durable.create_session(Disk(), place.root / "made", name, TOML, FIRST_LINK, started())
    assert not (place.root / "made").exists()
    if "\0" not in name and not name.startswith("-"):  # the first cannot be an argument, the second is one
        for command in (["verify"], ["report"], ["route", "check"]):
            place.refuses(*command, name)


# --- permissions, media, other programs -------------------------------------------------------------


def test_a_read_only_medium_can_be_reviewed_and_is_refused_for_writing(place: Place) -> None:
    """Permissions do not bind root, so the medium itself is read-only."""
    medium = place.root / "stick"
    medium.mkdir()

    try:
        with small_tmpfs(medium, "4m"):
            copy = Path(shutil.copytree(place.session, medium / "sessions" / place.session.name))
            subprocess.run(["mount", "-o", "remount,ro", str(medium)], check=True, timeout=20)
            assert place.answer("verify", str(copy)).code == 0
            assert "read-only" in place.refuses_to_open(copy)
            assert "read-only" in place.refuses("report", str(copy)).err
            assert place.answer("report", str(copy), "--out", str(place.root / "paper")).code == 0
    except NoLoopDiskError as error:
        pytest.skip(f"no medium can be made here: {error}")


def test_two_writers_are_one_too_many(place: Place) -> None:
    scene = Scene(place.root)
    with resume_session(scene.workspace, place.session, scene.clock) as desk:
        assert "Another program" in place.refuses_to_open()
        desk.note("the first one goes on")
        assert place.answer("verify", str(place.session)).code == 0
    assert place.answer("verify", str(place.session)).code == 0


def test_a_session_file_changed_under_the_writer_is_found_by_the_reviewer(place: Place) -> None:
    scene = Scene(place.root)
    with resume_session(scene.workspace, place.session, scene.clock) as desk:
        path = place.session / "session.toml"
        path.write_bytes(path.read_bytes().replace(b"max = 2.5", b"max = 9.5"))
        record(desk, "1.1")
    assert "session.toml" in place.refuses("verify", str(place.session)).out
