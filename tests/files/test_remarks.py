"""Files of remarks: what is written comes back, the file only grows, and what is wrong is named by line."""

from __future__ import annotations

import errno
import tomllib
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.remarks import Place, Remark
from fieldtui.core.text import normal
from fieldtui.errors import BadInputError, DiskFullError, MediumFailedError, NotSavedError, Problem
from fieldtui.files.disk import Disk, is_safe_name
from fieldtui.files.remarks import MAX_BYTES, append_remark, file_name, parse_remarks, read_remarks
from tests.strategies import any_text, clean_texts

ID = "2026-05-04_zx-41_twin-wing_01"
START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
SEAL = "0123456789abcdef" * 2


def remark(text: str = "look again", by: str = "Ivo Marr", **fields: Any) -> Remark:
    return Remark(**{"number": 1, "time": START, "by": by, "text": text, "seal": SEAL, "rows": 14, **fields})


words = clean_texts.map(normal).filter(bool)
counts = st.integers(1, 10**9)
places = st.builds(
    Place,
    point=st.just("") | st.text("ABCxyz019._-", min_size=1, max_size=40),
    record=st.none() | counts,
    row=st.none() | counts,
)
remarks = st.builds(
    Remark,
    number=st.just(1),
    time=st.datetimes(datetime(1970, 1, 1), datetime(2999, 1, 1)).map(lambda time: time.replace(tzinfo=UTC)),  # noqa: DTZ001
    by=words,
    text=words,
    seal=st.text("0123456789abcdef", min_size=32, max_size=32),
    rows=counts,
    about=places,
)


@given(st.lists(remarks, min_size=1, max_size=4))
def test_what_is_written_comes_back_and_no_byte_before_it_changes(
    tmp_path_factory: pytest.TempPathFactory, given_remarks: list[Remark]
) -> None:
    folder = tmp_path_factory.mktemp("remarks")
    for each in given_remarks:
        path = folder / file_name(each.by)
        before = path.read_bytes() if path.exists() else b""
        known = parse_remarks(before, "f", ID) if before else ()
        written = append_remark(Disk(), folder, ID, each)
        assert written == replace(each, number=len(known) + 1)
        assert path.read_bytes().startswith(before)
        assert parse_remarks(path.read_bytes(), "f", ID) == (*known, written)


@given(any_text)
def test_every_name_gives_a_file_name_that_is_legal_everywhere_and_is_found_again(name: str) -> None:
    file = file_name(name)
    assert is_safe_name(file)
    assert file.startswith("review-")
    assert file.endswith(".toml")
    assert "." not in file.removesuffix(".toml")


def test_the_name_is_that_of_the_reviewer_and_other_scripts_have_one_too() -> None:
    assert file_name("Ivo Marr") == "review-ivo-marr.toml"
    assert file_name("../../etc/passwd") == "review-etc-passwd.toml"
    assert file_name("Иво") != file_name("Ана")


def test_the_file_reads_as_plain_toml(tmp_path: Path) -> None:
    append_remark(Disk(), tmp_path, ID, remark(about=Place(point="SW-07", record=12)))
    append_remark(Disk(), tmp_path, ID, remark("measured the wrong strap", withdraws=1))
    read = tomllib.loads((tmp_path / "review-ivo-marr.toml").read_text(encoding="utf-8"))
    assert (read["format"], read["session"]) == (1, ID)
    first, second = read["remarks"]
    assert first == {
        "number": 1, "time": START, "by": "Ivo Marr", "text": "look again", "point": "SW-07", "record": 12,
        "seal": SEAL, "rows": 14,
    }  # fmt: skip
    assert (second["number"], second["withdraws"]) == (2, 1)


def test_a_comment_somebody_wrote_stays(tmp_path: Path) -> None:
    append_remark(Disk(), tmp_path, ID, remark())
    path = tmp_path / "review-ivo-marr.toml"
    path.write_bytes(path.read_bytes() + b"# seen by the lead")  # no line end
    append_remark(Disk(), tmp_path, ID, remark("second"))
    assert b"# seen by the lead\n" in path.read_bytes()
    assert [each.text for each in parse_remarks(path.read_bytes(), "f", ID)] == ["look again", "second"]


# --- what is wrong ---------------------------------------------------------------------------


def file_of(*tables: str, session: str = ID) -> bytes:
    head = f'format = 1\nsession = "{session}"\n'
    return (head + "".join(f"\n[[remarks]]\n{table}\n" for table in tables)).encode()


def table(number: int = 1, more: str = "") -> str:
    return (
        f'number = {number}\ntime = 2026-05-04T08:30:00Z\nby = "Ivo"\ntext = "x"\n'
        f'seal = "{SEAL}"\nrows = 3\n{more}'
    )


def problems_of(data: bytes) -> list[Problem]:
    with pytest.raises(BadInputError) as caught:
        parse_remarks(data, "review-ivo.toml", ID)
    return list(caught.value.problems)


@pytest.mark.parametrize(
    ("data", "line", "what"),
    [
        (file_of(table().replace("format = 1", "")).replace(b"format = 1", b"format = 2"), 1, "format 2"),
        (file_of(session="2020-01-01_other_01"), 2, "remarks on another session, 2020-01-01_other_01"),
        (file_of(table(2)), 5, "remark 2 stands where 1 is next"),
        (file_of(table(), table(1)), 14, "remark 1 stands where 2 is next"),
        (file_of(table(more="withdraws = 1")), 11, "there is no remark 1 before it"),
        (file_of(table(), table(2, "withdraws = 5")), 20, "there is no remark 5 before it"),
        (file_of(table(), table(2, "withdraws = 1"), table(3, "withdraws = 2")), 29, "no remark 2 before"),
        (file_of(table(), table(2, "withdraws = 1"), table(3, "withdraws = 1")), 29, "withdrawn already"),
        (file_of(table().replace('text = "x"', 'text = ""')), 8, "the text is empty"),
        (file_of(table().replace('text = "x"', r'text = "\u202e"')), 8, "u{202e} is not allowed"),
        (file_of(table().replace(SEAL, "zz")), 9, "not 32 hexadecimal digits"),
        (file_of(table(more='stars = "5"')), 11, 'unknown key "stars"'),
        (file_of(table().replace("rows = 3", "rows = 0")), 10, "0 is not a whole number"),
        (file_of(table().replace("2026-05-04T08:30:00Z", "9999-12-31T23:59:59-23:59")), 6, "out of range"),
        (file_of(table().replace("2026-05-04T08:30:00Z", "0001-01-01T00:00:00+23:59")), 6, "out of range"),
        (b"format = 1\nsession = [[[[", 2, ""),
    ],
)
def test_each_slip_is_named_with_its_line(data: bytes, line: int, what: str) -> None:
    (problem,) = problems_of(data)
    assert (problem.file, problem.line) == ("review-ivo.toml", line)
    assert what in problem.what


def test_all_slips_are_told_at_once() -> None:
    data = file_of(table().replace(SEAL, "zz").replace('by = "Ivo"', "by = 7"))
    assert [problem.line for problem in problems_of(data)] == [7, 9]


def test_a_bad_file_does_not_hide_the_others(tmp_path: Path) -> None:
    append_remark(Disk(), tmp_path, ID, remark())
    (tmp_path / "review-bad.toml").write_bytes(b"nonsense")
    (tmp_path / "review-a-folder.toml").mkdir()
    (tmp_path / "review-link.toml").symlink_to(tmp_path / "review-ivo-marr.toml")
    (tmp_path / "review-large.toml").write_bytes(b"#" * (MAX_BYTES + 1))
    (tmp_path / "other.toml").write_bytes(b"not looked at")
    found = {path.name: (len(read), len(wrong)) for path, read, wrong in read_remarks(Disk(), tmp_path, ID)}
    assert found == {
        "review-a-folder.toml": (0, 1), "review-bad.toml": (0, 1), "review-ivo-marr.toml": (1, 0),
        "review-large.toml": (0, 1), "review-link.toml": (0, 1),
    }  # fmt: skip


def test_a_folder_that_is_not_there_has_no_remarks(tmp_path: Path) -> None:
    assert list(read_remarks(Disk(), tmp_path / "missing", ID)) == []


# --- what is not saved ------------------------------------------------------------------------


class Refusing(Disk):
    """Refuses one kind of call with one error, as a medium would."""

    def __init__(self, call: str, code: int) -> None:
        def refuse(*_: object) -> None:
            raise OSError(code, "refused")

        setattr(self, call, refuse)


@pytest.mark.parametrize("call", ["open_lock", "lock", "create", "write", "sync_data", "rename"])
def test_where_a_call_fails_the_old_file_stands_and_the_error_says_so(tmp_path: Path, call: str) -> None:
    append_remark(Disk(), tmp_path, ID, remark())
    path = tmp_path / "review-ivo-marr.toml"
    before = path.read_bytes()
    with pytest.raises(MediumFailedError, match="not saved: the disk reported") as caught:
        append_remark(Refusing(call, errno.EIO), tmp_path, ID, remark("second"))
    assert "--remarks DIR" in caught.value.remedy
    assert path.read_bytes() == before
    assert not [name for name in tmp_path.iterdir() if name.name.endswith(".tmp")]
    append_remark(Disk(), tmp_path, ID, remark("second"))  # and it can be tried again
    assert len(parse_remarks(path.read_bytes(), "f", ID)) == 2


def test_a_full_and_a_read_only_disk_are_named(tmp_path: Path) -> None:
    with pytest.raises(DiskFullError, match="the disk is full"):
        append_remark(Refusing("write", errno.ENOSPC), tmp_path, ID, remark())
    with pytest.raises(MediumFailedError, match="the disk is read-only"):
        append_remark(Refusing("open_lock", errno.EROFS), tmp_path, ID, remark())


def test_a_file_with_problems_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "review-ivo-marr.toml"
    path.write_bytes(file_of(table(2)))
    with pytest.raises(NotSavedError, match="has problems") as caught:
        append_remark(Disk(), tmp_path, ID, remark())
    assert [problem.line for problem in caught.value.problems] == [5]
    assert path.read_bytes() == file_of(table(2))


@pytest.mark.parametrize("fields", [{"text": "a\x1bb"}, {"text": ""}, {"by": ""}, {"by": "a\u202e"}])
def test_a_text_that_may_not_be_recorded_is_refused_and_makes_no_file(
    tmp_path: Path, fields: dict[str, str]
) -> None:
    with pytest.raises(BadInputError):
        append_remark(Disk(), tmp_path, ID, remark(**fields))
    assert list(tmp_path.iterdir()) == []


def test_two_programs_do_not_write_one_file_at_once(tmp_path: Path) -> None:
    disk = Disk()
    held = disk.open_lock(tmp_path / ".review-ivo-marr.toml.lock")
    assert disk.lock(held)
    with pytest.raises(NotSavedError, match="another program is writing"):
        append_remark(disk, tmp_path, ID, remark())
    append_remark(disk, tmp_path, ID, remark(by="Ana"))  # another reviewer has another file
    disk.close(held)
    append_remark(disk, tmp_path, ID, remark(time=START + timedelta(minutes=1)))
    assert {path.name for path in tmp_path.glob("review-*")} == {"review-ivo-marr.toml", "review-ana.toml"}
