"""Units and limits as people write them in spreadsheets: ``≤ 2.5 mΩ``, ``0.1 ohm max``, ``1 to 10 kohm``.

Where a text could mean two things it is refused rather than guessed: ``MOHM`` may be milliohm or
megohm, a factor of 1 000 000 000 apart.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from fieldtui.core.measurement.ohms import (
    NotAResistanceError,
    Resistance,
    Unit,
    parse_number,
    parse_resistance,
)
from fieldtui.core.plan.route import RECORD_ONLY, Comparator, Limit
from fieldtui.core.text import quoted

_OHM = re.compile(r"(?P<prefix>.*?)[ -]?(?P<ohm>ohms?|Ω|Ω)", re.IGNORECASE)
_WORD_PREFIXES = {  # microhm, kilohm and megohm lose a vowel
    "micro": Unit.UOHM, "micr": Unit.UOHM, "milli": Unit.MOHM, "kilo": Unit.KOHM, "kil": Unit.KOHM,
    "mega": Unit.MEGOHM, "meg": Unit.MEGOHM,
}  # fmt: skip
_LETTER_PREFIXES = {
    "": Unit.OHM, "u": Unit.UOHM, "U": Unit.UOHM, "µ": Unit.UOHM, "μ": Unit.UOHM, "m": Unit.MOHM,
    "k": Unit.KOHM, "K": Unit.KOHM, "M": Unit.MEGOHM,
}  # fmt: skip

_RECORD_ONLY = {"record only", "record", "for record", "no limit", "for information"}
# Tried in this order: "not less than" holds "less than".
_SIGNS = tuple(
    (re.compile(pattern, re.IGNORECASE), sign)
    for pattern, sign in (
        (r"≤|=<|⩽|\b(?:no|not) (?:more|greater|higher) than\b|\bat most\b|\bup to\b", "<="),
        (r"≥|=>|⩾|\b(?:no|not) (?:less|lower) than\b|\bat least\b", ">="),
        (r"\bor (?:less|below|lower)\b|\bmax(?:imum)?\b\.?", "<="),
        (r"\bor (?:more|above|higher)\b|\bmin(?:imum)?\b\.?", ">="),
        (r"\b(?:less|lower) than\b|\bbelow\b|\bunder\b", "<"),
        (r"\b(?:more|greater|higher) than\b|\babove\b|\bover\b", ">"),
    )
)
_BOUND = re.compile(r"(?P<before>[<>]=?)? *(?P<figure>[^<>=]*?) *(?P<after>[<>]=?)?")
_FIGURE = re.compile(r"(?P<number>[0-9.,]+) *(?P<unit>[^\W\d]*[- ]?[^\W\d]*)")
_UNIT_FIRST = re.compile(r"(?P<unit>[^\W\d]*[- ]?(?:ohms?|Ω)) *(?P<number>[0-9][0-9.,]*)", re.IGNORECASE)
_SPAN = re.compile(r"(?<=[0-9a-zA-ZΩ]) *(?:\bto\b|\.\.+|[-–—…]) *(?=[0-9.,])")


_WITH_CRITERION = re.compile(r"(?P<figures>.*)\((?P<criterion>[A-Za-z0-9._-]+)\)")


class NoUnitError(NotAResistanceError):
    """A figure stands without a unit, and none is known for it."""


@dataclass(frozen=True, slots=True)
class WrittenLimit:
    """A limit as understood, and whether its comparator stood in the text or was taken as ``<=``."""

    limit: Limit
    is_explicit: bool


def split_criterion(text: str) -> tuple[str, str]:
    """``< 2.5 mohm (equipment-frame)``, as reports write it, as figures and criterion."""
    found = _WITH_CRITERION.fullmatch(text)
    return (found["figures"].strip(), found["criterion"]) if found else (text, "")


def parse_written_comparator(text: str) -> Comparator:
    """The comparator behind ``<``, ``≤``, ``=<``, ``max``, ``at least`` and their like, standing alone.

    Raises:
        NotAResistanceError: it is none.
    """
    plain = " ".join(text.split())
    for pattern, sign in _SIGNS:
        plain = pattern.sub(sign, plain)
    try:
        return Comparator(plain)
    except ValueError:
        raise NotAResistanceError(f"{quoted(text)} is not a comparator") from None


def parse_written_unit(text: str) -> Unit:
    """The unit behind ``mΩ``, ``mOhm``, ``milliohms``, ``kohm`` and their like.

    Raises:
        NotAResistanceError: it is none, or could be two.
    """
    found = _OHM.fullmatch(text.strip())
    if found is None:
        raise NotAResistanceError(f"{quoted(text)} is not a unit of resistance")
    prefix = found["prefix"]
    if prefix == "M" and found["ohm"].startswith("OHM"):
        raise NotAResistanceError(f"{quoted(text)} may be milliohm or megohm")
    unit = _LETTER_PREFIXES.get(prefix) or _WORD_PREFIXES.get(prefix.casefold())
    if unit is None:
        raise NotAResistanceError(f"{quoted(text)} is not a unit of resistance")
    return unit


def parse_figure(text: str, default: Unit | None, *, decimal_comma: bool = False) -> Resistance:
    """A figure with or without its unit, such as ``2.5 mΩ``, ``2.5`` or ``R47``.

    Args:
        text: as written.
        default: the unit of a bare figure; None where a bare one cannot be understood.
        decimal_comma: whether a comma is the decimal sign.

    Raises:
        NotAResistanceError: with the reason in words.
    """
    text = text.strip()
    found = _UNIT_FIRST.fullmatch(text) or _FIGURE.fullmatch(text)
    if found is None or (found["unit"] and "hm" not in found["unit"].casefold() and "Ω" not in found["unit"]):
        return parse_resistance(
            text.replace(",", ".") if decimal_comma else text, Unit.OHM
        )  # R47, 950u: a letter says the unit
    number = found["number"].replace(",", ".") if decimal_comma else found["number"]
    unit = parse_written_unit(found["unit"]) if found["unit"] else default
    if unit is None:
        raise NoUnitError(f"{quoted(text)} has no unit")
    return Resistance(parse_number(number), unit)


def parse_written_limit(text: str, default: Unit | None, *, decimal_comma: bool = False) -> WrittenLimit:
    """The limit behind a cell such as ``< 2.5 mOhm``, ``0.1 ohm max``, ``1 to 10`` or ``record only``.

    Args: as for :func:`parse_figure`.

    Raises:
        NotAResistanceError: with the reason in words.
    """
    plain = " ".join(text.split())
    if plain.casefold() in _RECORD_ONLY:
        return WrittenLimit(RECORD_ONLY, is_explicit=True)
    for pattern, sign in _SIGNS:
        plain = pattern.sub(sign, plain)
    span = _SPAN.split(plain)
    if len(span) == 2:
        high = parse_figure(span[1], default, decimal_comma=decimal_comma)
        low = parse_figure(span[0], high.unit, decimal_comma=decimal_comma)
        return WrittenLimit(_window(text, Limit(maximum=high, minimum=low)), is_explicit=True)
    limit, explicit = Limit(), True
    for part in re.split(r" and |, | & ", plain):
        limit, said = _with_bound(limit, part, default, decimal_comma=decimal_comma)
        explicit = explicit and said
    return WrittenLimit(_window(text, limit), explicit)


def _with_bound(limit: Limit, text: str, default: Unit | None, *, decimal_comma: bool) -> tuple[Limit, bool]:
    found = _BOUND.fullmatch(text.strip())
    if found is None or not found["figure"] or (found["before"] and found["after"]):
        raise NotAResistanceError(f"{quoted(text)} is not a limit")
    sign = found["before"] or found["after"] or ""
    bound = parse_figure(found["figure"], default, decimal_comma=decimal_comma)
    comparator = Comparator(sign or "<=")
    is_upper = comparator in (Comparator.LESS, Comparator.AT_MOST)
    if (limit.maximum if is_upper else limit.minimum) is not None:
        raise NotAResistanceError(f"a second {'upper' if is_upper else 'lower'} limit")
    if is_upper:
        return Limit(bound, limit.minimum, comparator, limit.lower), bool(sign)
    return Limit(limit.maximum, bound, limit.upper, comparator), bool(sign)


def _window(text: str, limit: Limit) -> Limit:
    """The same limit, once it is one that a route can state."""
    if limit.maximum is None or limit.minimum is None:
        return limit
    if limit.minimum.ohms >= limit.maximum.ohms:
        raise NotAResistanceError(f"nothing is within {quoted(text)}")
    if (limit.upper is Comparator.LESS) != (limit.lower is Comparator.MORE):
        raise NotAResistanceError("a window has both its ends with equality, or both without")
    return limit
