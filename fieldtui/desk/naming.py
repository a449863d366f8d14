"""What to offer where a name was given that there is not: those there are, the nearest first."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import SequenceMatcher

MOST = 5  # names offered; the rest are counted


def nearest_first(word: str, names: Sequence[str]) -> list[str]:
    """The names, those that hold the word first, then by likeness (Ratcliff and Obershelp 1988)."""
    word = word.casefold()

    def distance(name: str) -> tuple[bool, float]:
        other = name.casefold()
        return word not in other, -SequenceMatcher(None, word, other).ratio()

    return sorted(names, key=distance)


def offered(word: str, names: Sequence[str], none: str) -> str:
    """A sentence that names what there is; ``none`` where there is nothing."""
    if not names:
        return none
    first = nearest_first(word, names)[:MOST]
    more = f", and {len(names) - MOST} more" if len(names) > MOST else ""
    return f"there {'is' if len(names) == 1 else 'are'}: {', '.join(first)}{more}"
