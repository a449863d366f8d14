"""Many sessions of one route: read as one by one, what they have in common parsed once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fieldtui.core.plan.session import Session
from fieldtui.errors import BadInputError
from fieldtui.files.session import snapshots
from fieldtui.files.session.file import parse_session
from fieldtui.files.session.snapshots import SnapshotReader
from tests.desk.fleet_maker import make_fleet


@pytest.fixture
def whole(monkeypatch: pytest.MonkeyPatch) -> list[bytes]:
    """The files that were read whole."""
    seen: list[bytes] = []

    def noting(data: bytes, file: str) -> Session:
        seen.append(data)
        return parse_session(data, file)

    monkeypatch.setattr(snapshots, "parse_session", noting)
    return seen


@pytest.fixture
def files(tmp_path: Path) -> list[bytes]:
    folders = make_fleet(tmp_path, 7, assets=2, surveys=3, points=4)
    return [(folder / "session.toml").read_bytes() for folder in folders]


def test_every_session_is_the_one_that_reading_it_alone_gives(files: list[bytes], whole: list[bytes]) -> None:
    reader = SnapshotReader()
    assert [reader.parse(data, "f") for data in files] == [parse_session(data, "f") for data in files]
    assert whole == [files[0], files[3]]  # the first along each route


def changed(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    def change(data: bytes) -> bytes:
        assert data.count(old)
        return data.replace(old, new, 1)

    return change


@pytest.mark.parametrize(
    ("change", "is_own"),
    [
        (changed(b'job = "JC-1"', b'job = "JC-2"'), True),
        (changed(b"ambient_c = 18", b"ambient_c = 5\nconductor_c = -3.5"), True),
        (changed(b'follows = ""', b'follows = "2019-05-04_aircraft-0_route-0_01"'), True),
        (changed(b'serial = "0417"', b'serial = "0418"'), False),  # another snapshot
        (changed(b"max = 2.5", b"max = 2.4"), False),
        (changed(b"[instrument]\n", b"[ instrument ]\n"), False),  # as another program writes it
        (changed(b'job = "JC-1"', b"job = '''JC\n[instrument]\n'''"), False),  # the cut falls into a text
    ],
)
def test_one_that_differs_is_read_as_by_itself(
    files: list[bytes], whole: list[bytes], change: Callable[[bytes], bytes], is_own: bool
) -> None:
    reader = SnapshotReader()
    reader.parse(files[0], "f")
    data = change(files[1])
    assert answer(reader.parse, data) == answer(parse_session, data)
    assert whole == [files[0], *([] if is_own else [data])]


def answer(parse: Callable[[bytes, str], Session], data: bytes) -> Any:
    try:
        return parse(data, "f")
    except BadInputError as error:
        return error.problems


@pytest.mark.parametrize("old", [b"practice = false", b'prober = "Ben"', b"max = 2.5"])
def test_what_is_wrong_is_told_as_by_itself(files: list[bytes], old: bytes) -> None:
    reader = SnapshotReader()
    reader.parse(files[0], "f")
    data = files[1].replace(old, b"wrong = 1")
    problems = answer(reader.parse, data)
    assert problems == answer(parse_session, data)
    assert problems


@pytest.mark.parametrize("given", ["cautions = []\n", "cautions = [3]\n", "cautions = 3\n"])
def test_sessions_without_cautions_have_a_snapshot_of_their_own(files: list[bytes], given: str) -> None:
    """An empty list of cautions stands in the session's own part, where tables could not."""
    reader = SnapshotReader()
    reader.parse(files[0], "f")
    text = files[1].decode()
    bare = text[: text.index("[[cautions]]")] + text[text.index("[route]\n") :]
    data = bare.replace("[crew]\n", f"{given}[crew]\n", 1).encode()
    assert answer(reader.parse, data) == answer(parse_session, data)
    if given == "cautions = []\n":
        assert reader.parse(data, "f").cautions == ()
        assert reader.parse(files[2], "f").cautions != ()
