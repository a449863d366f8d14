"""Thousands of damaged files through every reader: one of our own errors, or an answer, in bounds."""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import suppress

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fieldtui.core.plan.inserted import format_limit
from fieldtui.core.plan.route import Limit
from tests.fuzz.bounds import MOST_BYTES, bounded
from tests.fuzz.mutations import mutated
from tests.fuzz.readers import OWN_ERRORS, READERS

INPUTS = {
    "route": 700,
    "criteria": 300,
    "instruments": 300,
    "reasons": 150,
    "cautions": 150,
    "conductors": 150,
    "session": 500,
    "remarks": 300,
    "trail": 900,
    "sheet": 500,
    "memory list": 400,
    "point table": 300,
    "point list": 300,
    "number": 500,
    "meter": 300,
    "text": 400,
}


def test_every_reader_gets_its_share() -> None:
    assert INPUTS.keys() == READERS.keys()
    assert sum(INPUTS.values()) >= 5_000


def hold(name: str, inputs: int) -> None:
    """Give a reader damaged files, the same ones in every run."""
    read, seeds = READERS[name]

    @settings(
        max_examples=inputs,
        deadline=None,  # ``bounded`` holds the time that counts
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(mutated(seeds) if name not in ("number", "text") else st.one_of(mutated(seeds), texts()))
    def check(data: bytes) -> None:
        with bounded(), suppress(*OWN_ERRORS):
            read(data)

    check()


@pytest.mark.parametrize("name", READERS)
def test_a_damaged_file_is_refused_in_our_own_words(name: str) -> None:
    hold(name, INPUTS[name])


def upside_down(limit: Limit) -> str:
    return format_limit(limit).translate(str.maketrans("<>", "><"))


@pytest.mark.parametrize(
    ("reader", "place", "bug"),
    [
        ("remarks", "tests.fuzz.readers.format_remark", lambda remark: b""),
        ("number", "tests.fuzz.readers.format_limit", upside_down),
        ("text", "tests.fuzz.readers.neutral", lambda text: text),
        ("meter", "tests.fuzz.readers.format_meter", lambda meter: "{}"),
        ("sheet", "fieldtui.files.csv_lines.refusal", lambda text: text[600]),
    ],
)  # fmt: skip
def test_a_seeded_bug_is_noticed(
    monkeypatch: pytest.MonkeyPatch, reader: str, place: str, bug: Callable[..., object]
) -> None:
    monkeypatch.setattr(place, bug)
    with pytest.raises(Exception):  # noqa: B017  whatever it is, the run ends with it
        hold(reader, INPUTS[reader])


def texts() -> st.SearchStrategy[bytes]:
    """What might be keyed: characters that numbers, units and limits are made of, and any others."""
    keyed = st.text("0123456789.,RKMLrkmuµΩ<>=-+ eEohmto_", max_size=14)
    return st.one_of(keyed, st.text(max_size=30)).map(lambda text: text.encode(errors="surrogatepass"))


@pytest.mark.parametrize("name", READERS)
def test_the_project_s_own_files_are_read(name: str) -> None:
    """Otherwise the fuzzing starts from nothing and proves little."""
    read, seeds = READERS[name]
    assert seeds
    for data in seeds:
        with bounded(5.0):
            read(data)


def test_the_bounds_are_held() -> None:
    with pytest.raises(AssertionError, match="for one input"), bounded(0.001):
        sum(range(1_000_000))
    if sys.platform == "linux":
        with pytest.raises(MemoryError), bounded():
            bytearray(2 * MOST_BYTES)
