"""Which sign stands before decimals in a list, and which of its figures leave that open.

A comma between cells leaves the point as the only decimal sign. Where semicolons or tabs stand
between cells a comma is one too, and then ``1.250`` is one and a quarter to one writer and a
thousand and more to another. The other figures of the list tell which it is: ``0,75`` can only
have decimals behind its comma. Where none tells, the figure is refused. Common practice of
spreadsheets, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from fieldtui.core.text import quoted

_SIGNED = re.compile(r"[0-9]+(?:[.,][0-9]+)+")
# Three digits behind each sign, and no nought alone before the first: it may part thousands.
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:[.,][0-9]{3})+")


@dataclass(frozen=True, slots=True)
class DecimalSigns:
    """``comma``: whether a comma stands before decimals. ``doubtful``: signs that may part thousands too."""

    comma: bool
    doubtful: frozenset[str] = frozenset()

    def plain(self, text: str) -> str:
        """A figure with a point for its decimal comma."""
        return text.replace(",", ".") if self.comma else text

    def doubt(self, text: str) -> tuple[str, str] | None:
        """Why a figure in ``text`` could be two, and what to write instead; None where there is no doubt."""
        if not self.comma:
            return None
        for number in _SIGNED.findall(text):
            whole, *parts = re.split("[.,]", number)
            if len(parts) > 1:
                remedy = "write it without a sign for thousands, with one comma before decimals"
                return f"{quoted(number)} has more than one point or comma", remedy
            sign = number[len(whole)]
            if sign in self.doubtful and _GROUPED.fullmatch(number):
                what = f"{quoted(number)} may be {whole}{parts[0]}, or {whole} and decimals"
                other = "," if sign == "." else "."
                plain = f"{number}0" if other in self.doubtful else f"{whole}{other}{parts[0]}"
                return what, f"write {whole}{parts[0]}, or {plain}, whichever is meant"
        return None


def decimal_signs(cells: Iterable[str], delimiter: str) -> DecimalSigns:
    """What the figures in ``cells`` tell of a list with ``delimiter`` between its cells."""
    if delimiter == ",":
        return DecimalSigns(comma=False)
    seen = {sign for cell in cells for number in _SIGNED.findall(cell) for sign in _decimal_sign(number)}
    if seen == {","} or (not seen and delimiter == ";"):  # semicolons are there to leave the comma free
        return DecimalSigns(comma=True, doubtful=frozenset("."))
    return DecimalSigns(comma=True, doubtful=frozenset(",") if seen == {"."} else frozenset(".,"))


def _decimal_sign(number: str) -> str:
    """The sign before the decimals of a figure that can have but one; empty where it leaves that open."""
    last = next(sign for sign in reversed(number) if not sign.isdigit())
    return "" if _GROUPED.fullmatch(number) or number.count(last) > 1 else last
