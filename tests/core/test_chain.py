from __future__ import annotations

from hashlib import sha256

from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.trail.chain import LENGTH, link, seal_groups

cells = st.lists(st.text(st.characters(codec="utf-8", exclude_categories=("Cc",))), min_size=1, max_size=6)


def test_a_link_is_the_start_of_a_sha_256_over_the_link_before_and_the_cells() -> None:
    """Reckoned by hand from the definition; SHA-256 is FIPS 180-4."""
    assert link("0" * 32, ["1", "a,b", ""]) == sha256(b"0" * 32 + b"\x1f1\x1fa,b\x1f").hexdigest()[:32]


def test_the_hash_is_the_published_one() -> None:
    """FIPS 180-4 example "abc" (value from memory): ba7816bf 8f01cfea 414140de 5dae2223 …"""
    assert sha256(b"abc").hexdigest()[:LENGTH] == "ba7816bf8f01cfea414140de5dae2223"


@given(cells, cells)
def test_other_cells_give_another_link(ours: list[str], others: list[str]) -> None:
    assert (link("f" * 32, ours) == link("f" * 32, others)) is (ours == others)


def test_moving_text_from_one_cell_to_the_next_changes_the_link() -> None:
    assert link("", ["ab", "c"]) != link("", ["a", "bc"])


def test_the_link_before_counts() -> None:
    assert link("0" * 32, ["x"]) != link("1" * 32, ["x"])


def test_a_seal_is_read_in_groups_of_four() -> None:
    assert seal_groups("0123456789abcdef") == "0123 4567 89ab cdef"
    assert seal_groups("01234") == "0123 4"
    assert seal_groups("") == ""
