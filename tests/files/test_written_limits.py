"""Limits and units as people write them: common practice, no source, but for the SI prefixes."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given

from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, Unit
from fieldtui.core.plan.inserted import format_limit
from fieldtui.core.plan.route import Limit
from fieldtui.files.route.written_limits import parse_figure, parse_written_limit, parse_written_unit
from tests.strategies import any_text, limits


@pytest.mark.parametrize(
    ("text", "shown", "is_explicit"),
    [
        ("< 2.5 mOhm", "< 2.5 mΩ", True),
        ("<=2.5mΩ", "<= 2.5 mΩ", True),
        ("≤ 2.50 mohms", "<= 2.50 mΩ", True),
        ("=< 2.5", "<= 2.5 mΩ", True),
        ("2.5", "<= 2.5 mΩ", False),
        ("2.5 mohm max", "<= 2.5 mΩ", True),
        ("Max. 2.5", "<= 2.5 mΩ", True),
        ("0.1 Ω or less", "<= 0.1 Ω", True),
        ("less than 2.5 milliohms", "< 2.5 mΩ", True),
        ("not less than 1 Megohm", ">= 1 MΩ", True),
        ("no more than 10 kilohm", "<= 10 kΩ", True),
        ("> 1 MΩ", "> 1 MΩ", True),
        ("1 to 10 ohm", ">= 1 Ω and <= 10 Ω", True),
        ("1-10 kΩ", ">= 1 kΩ and <= 10 kΩ", True),
        ("> 1 ohm and < 10 ohm", "> 1 Ω and < 10 Ω", True),
        ("R47", "<= 0.47 Ω", False),
        ("950u", "<= 950 µΩ", False),
        ("Record  only", "record only", True),
    ],
)
def test_a_limit_as_written(text: str, shown: str, is_explicit: bool) -> None:
    written = parse_written_limit(text, Unit.MOHM)
    assert (str(written.limit), written.is_explicit) == (shown, is_explicit)


@pytest.mark.parametrize(
    "text",
    ["", "-", "n/a", "2,5", "1e3", "=1+1", "2.5 volts", "< 2.5 >", "< 2 and < 3", "5 to 1", "> 1 and <= 2",
     "5 MOHM", "<", "< -1", "2.5 2.5", "five", "2.5.1 mohm"],
)  # fmt: skip
def test_what_is_no_limit_or_a_doubtful_one_is_refused(text: str) -> None:
    with pytest.raises(NotAResistanceError, match=r"\w"):
        parse_written_limit(text, Unit.MOHM)


def test_a_bare_figure_wants_a_unit_from_somewhere() -> None:
    with pytest.raises(NotAResistanceError, match="no unit"):
        parse_written_limit("< 2.5", None)
    assert parse_written_limit("< 2.5 ohm", None).limit.maximum == Resistance(Decimal("2.5"), Unit.OHM)


def test_a_comma_is_a_point_only_where_it_may_be() -> None:
    assert parse_figure("2,50", Unit.MOHM, decimal_comma=True) == Resistance(Decimal("2.50"), Unit.MOHM)
    with pytest.raises(NotAResistanceError, match="use a point"):
        parse_figure("2,50", Unit.MOHM)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("mΩ", Unit.MOHM), ("MΩ", Unit.MEGOHM), ("mOhm", Unit.MOHM), ("Mohm", Unit.MEGOHM),
        ("mOHM", Unit.MOHM), ("microhms", Unit.UOHM), ("kilohm", Unit.KOHM),
        ("milliohm", Unit.MOHM), ("Milli-Ohms", Unit.MOHM), ("megohm", Unit.MEGOHM), ("OHM", Unit.OHM),
        ("kΩ", Unit.KOHM), ("KOHM", Unit.KOHM), ("µΩ", Unit.UOHM), ("uohm", Unit.UOHM), ("Ω", Unit.OHM),
    ],
)  # fmt: skip
def test_a_unit_as_written(text: str, unit: Unit) -> None:
    assert parse_written_unit(text) is unit


@pytest.mark.parametrize("text", ["MOHM", "MOHMS", "volt", "", "m", "GOhm", "ohm ohm"])
def test_what_is_no_unit_or_could_be_two_is_refused(text: str) -> None:
    with pytest.raises(NotAResistanceError):
        parse_written_unit(text)


def is_plain(limit: Limit) -> bool:
    """A limit that a route file can state: no empty window, both ends alike."""
    if limit.maximum is None or limit.minimum is None:
        return True
    is_strict = (limit.upper.value == "<") == (limit.lower.value == ">")
    return is_strict and limit.minimum.ohms < limit.maximum.ohms


@given(limits().filter(is_plain))
def test_what_this_program_writes_it_reads_again(limit: Limit) -> None:
    assert parse_written_limit(format_limit(limit), None).limit == limit


@given(any_text)
def test_any_text_is_a_limit_or_refused_in_words(text: str) -> None:
    try:
        found = parse_written_limit(text, Unit.MOHM, decimal_comma=True).limit
    except NotAResistanceError as error:
        assert str(error)
    else:
        assert found.record_only or found.maximum or found.minimum
