"""Files of remarks at their limits: too many, too large, a medium that keeps something else."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.errors import BadInputError, MediumFailedError, NotSavedError
from fieldtui.files.disk import Disk
from fieldtui.files.remarks import MAX_BYTES, MAX_FILES, append_remark, read_remarks
from tests.files.test_remarks import ID, remark

FILE = "review-ivo-marr.toml"


def test_the_folder_and_the_one_above_are_made(tmp_path: Path) -> None:
    folder = tmp_path / "sessions" / "remarks"
    assert append_remark(Disk(), folder, ID, remark()).number == 1
    assert (folder / FILE).exists()


def test_of_files_without_end_some_are_read_and_the_rest_is_said_to_be_there(tmp_path: Path) -> None:
    append_remark(Disk(), tmp_path, ID, remark(by="a0"))
    data = (tmp_path / "review-a0.toml").read_bytes()
    for number in range(MAX_FILES):
        (tmp_path / f"review-b{number:03}.toml").write_bytes(data)
    found = list(read_remarks(Disk(), tmp_path, ID))
    assert len(found) == MAX_FILES + 1
    path, remarks, (problem,) = found[-1]
    assert (path, remarks) == (tmp_path, ())
    assert problem.what.startswith(f"more than {MAX_FILES} files")


def test_a_full_file_takes_no_more_and_stays_as_it_is(tmp_path: Path) -> None:
    append_remark(Disk(), tmp_path, ID, remark())
    path = tmp_path / FILE
    data = path.read_bytes()
    path.write_bytes(data + b"#" * (MAX_BYTES - len(data) - 1) + b"\n")
    before = path.read_bytes()
    with pytest.raises(NotSavedError, match="is full") as caught:
        append_remark(Disk(), tmp_path, ID, remark("one more"))
    assert "another name" in caught.value.remedy
    assert path.read_bytes() == before
    path.write_bytes(before + b"#")
    with pytest.raises(NotSavedError, match=r"not saved\. .*larger than"):
        append_remark(Disk(), tmp_path, ID, remark("one more"))


def test_a_remark_that_would_read_back_as_another_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="cannot be recorded as it is"):
        append_remark(Disk(), tmp_path, ID, remark("cafe\u0301"))  # files hold the composed form
    assert not (tmp_path / FILE).exists()


def test_a_medium_that_keeps_something_else_is_told(tmp_path: Path) -> None:
    class Other(Disk):
        def write_whole(self, path: Path, data: bytes) -> None:
            super().write_whole(path, data.replace(b"again", b"agaiN"))

    with pytest.raises(MediumFailedError, match="reads back other"):
        append_remark(Other(), tmp_path, ID, remark("look again"))
