"""Files that are written whole: the folder is made, and what the medium refuses is told."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from fieldtui.errors import NotSavedError
from fieldtui.files.disk import Disk
from fieldtui.files.whole import write_whole_files

FILES = {"report.html": b"<p>", "results.csv": b"a\n"}


def test_each_file_is_written_and_an_older_one_replaced(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    for data in (b"first", b"second"):
        written = write_whole_files(Disk(), folder, {**FILES, "report.html": data}, "The report")
        assert written == (folder / "report.html", folder / "results.csv")
        assert (folder / "report.html").read_bytes() == data
    assert {path.name for path in folder.iterdir()} == FILES.keys()


def test_what_could_not_be_written_is_named_with_the_reason_and_a_way_out(tmp_path: Path) -> None:
    class Broken(Disk):
        def write_whole(self, path: Path, data: bytes) -> None:
            raise OSError(errno.EROFS, "read-only")

    with pytest.raises(NotSavedError) as caught:
        write_whole_files(Broken(), tmp_path, FILES, "The report")
    assert caught.value.what == "The report could not be written: the disk is read-only"
    assert (caught.value.where, "--out" in caught.value.remedy) == (str(tmp_path), True)
