"""What may enter the record, and how doubtful text is shown. Exhaustive over every code point."""

from __future__ import annotations

import re
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.text import (
    MAX_LENGTH,
    is_clean,
    is_same_name,
    neutral,
    normal,
    plain,
    quoted,
    refusal,
    visible,
)
from tests.strategies import any_text, clean_texts

# Code points that must never enter: controls, line and paragraph separators, zero-width characters,
# embeddings, overrides and isolates (CVE-2021-42574), surrogates, noncharacters (Unicode 15, chapter 23).
REFUSED = [
    *range(0x20), *range(0x7F, 0xA0), 0x00AD, 0x061C, *range(0x200B, 0x2010), 0x2028, 0x2029,
    *range(0x202A, 0x202F), *range(0x2060, 0x2070), 0xFEFF, *range(0xD800, 0xE000), *range(0xFDD0, 0xFDF0),
    *(plane * 0x10000 + low for plane in range(17) for low in (0xFFFE, 0xFFFF)),
    *range(0xE0000, 0xE0080),
]  # fmt: skip
# Format characters with a shape of their own: they mark a number, a verse, an abbreviation.
VISIBLE_FORMATS = {
    *range(0x0600, 0x0606), 0x06DD, 0x070F, 0x0890, 0x0891, 0x08E2, 0x110BD, 0x110CD,
    *range(0x13430, 0x13456),
}  # fmt: skip


def test_every_dangerous_code_point_is_refused_and_shown_as_its_code() -> None:
    for code in REFUSED:
        text = f"SW{chr(code)}07"
        assert refusal(text) == f"character \\u{{{code:x}}} is not allowed"
        assert visible(text) == f"SW\\u{{{code:x}}}07"
        assert not is_clean(text)


def test_no_control_and_no_invisible_format_character_was_forgotten() -> None:
    for code in range(sys.maxunicode + 1):
        category = unicodedata.category(chr(code))
        if category in ("Cc", "Cs", "Zl", "Zp") or (category == "Cf" and code not in VISIBLE_FORMATS):
            assert not is_clean(chr(code)), f"U+{code:04X}"


@pytest.mark.parametrize(
    "text", ["", "rear spar G4", "Ω µΩ ±5 °C", "naïve façade", "飛行機", "Ωμέγα", "🛩", "אבג"]
)
def test_what_people_write_passes(text: str) -> None:
    assert refusal(text) is None
    assert visible(text) == text
    assert is_clean(text)


def test_five_hundred_characters_are_enough_and_one_more_is_too_many() -> None:
    assert refusal("x" * MAX_LENGTH) is None
    assert refusal("x" * (MAX_LENGTH + 1)) == "501 characters; at most 500 are allowed"
    assert refusal("x" * 41, max_length=40) == "41 characters; at most 40 are allowed"
    assert MAX_LENGTH == 500


def test_length_is_counted_in_the_form_that_is_stored() -> None:
    decomposed = "e\u0301" * MAX_LENGTH
    assert refusal(normal(decomposed)) is None
    assert refusal(normal(decomposed + "x")) is not None


@pytest.mark.parametrize("mark", ["\u0300", "\u0488", "\u20dd", "\u0f71"])
def test_a_flood_of_marks_is_refused_and_thinned(mark: str) -> None:
    assert refusal("a" + mark * 4) is None
    flood = "a" + mark * 60
    assert refusal(flood) == "more than 4 combining marks on one character"
    shown = visible(flood)
    assert is_clean(shown)
    assert shown.startswith("a" + mark * 4 + "\\u{")
    assert shown.count(mark) == 4


def test_marks_on_several_characters_are_counted_for_each() -> None:
    assert is_clean(("a" + "\u0300" * 4) * 20)


@given(any_text)
def test_what_is_shown_is_always_clean_and_says_the_same(text: str) -> None:
    shown = visible(text)
    assert is_clean(shown)
    unfolded = re.sub(r"\\u\{([0-9a-f]+)\}", lambda code: chr(int(code[1], 16)), shown)
    if "\\u{" not in text:
        assert unfolded == text
    assert visible(shown) == shown


@given(any_text)
def test_what_is_refused_is_what_is_not_shown_as_it_stands(text: str) -> None:
    assert (refusal(text) is None) == (visible(text) == text)


@given(st.one_of(any_text, st.text("=+-@＝＋－＠'\t ax", max_size=6)))
def test_no_cell_starts_like_a_formula_and_nothing_is_lost(text: str) -> None:
    cell = neutral(text)
    assert cell[:1] not in tuple("=+-@＝＋－＠")
    assert plain(cell) == text


@pytest.mark.parametrize(
    ("cell", "text"),
    [("'=1+1", "=1+1"), ("''", "'"), ("'", "'"), ("'twas", "'twas"), ("", ""), ("1=1", "1=1")],
)
def test_an_apostrophe_is_taken_off_only_where_it_was_put(cell: str, text: str) -> None:
    assert plain(cell) == text


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=40))
def test_the_stored_form_is_final(text: str) -> None:
    stored = normal(text)
    assert normal(stored) == stored
    assert stored == stored.strip()


def test_two_ways_to_write_one_letter_are_stored_alike() -> None:
    assert normal(" Zo\u0308e\n") == "Zöe"
    assert normal("\u2126") == "Ω"  # OHM SIGN becomes the Greek letter


@given(clean_texts)
def test_clean_text_stays_clean_when_stored(text: str) -> None:
    assert refusal(normal(text)) is None


# --- names ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "other",
    [
        "Ilsa Quenby", "ilsa  quenby", " ILSA\u00a0QUENBY ", "Ilsa\u3000Quenby", "ilsa\tquenby",
        "\uff29\uff4c\uff53\uff41 Quenby",  # in wide letters
    ],
)  # fmt: skip
def test_a_name_is_the_same_whatever_its_case_width_and_white_space(other: str) -> None:
    assert is_same_name("Ilsa Quenby", other)
    assert is_same_name(other, "Ilsa Quenby")


@pytest.mark.parametrize(
    ("one", "other"), [("STRASSE", "stra\u00dfe"), ("Zo\u00eb", "zoe\u0308"), ("\ufb01ona", "Fiona")]
)
def test_names_written_with_other_code_points_are_the_same(one: str, other: str) -> None:
    assert is_same_name(one, other)


@pytest.mark.parametrize("other", ["Ilsa Quenbi", "IlsaQuenby", "Ilsa", "", "\u0130lsa Quenby"])
def test_other_names_are_other_names(other: str) -> None:
    assert not is_same_name("Ilsa Quenby", other)


@given(clean_texts)
def test_a_name_is_itself_in_capitals_and_with_more_white_space(name: str) -> None:
    assert is_same_name(name, "  ".join(name.split()))
    assert is_same_name(name, name.casefold())


def test_a_quoted_text_is_shown_as_it_is_but_for_what_cannot_be_seen() -> None:
    assert quoted("≤ 2.5 mΩ") == "'≤ 2.5 mΩ'"
    assert quoted("a\x1b\u202eb") == "'a\\u{1b}\\u{202e}b'"
    assert quoted("x" * 50) == f"'{'x' * 40}'"
