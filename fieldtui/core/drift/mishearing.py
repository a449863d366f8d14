"""How a spoken memory number turns into another one: digit slips and their chances.

Shares of digit errors follow Verhoeff, "Error Detecting Decimal Codes" (1969): single digits
60-95 %, transposed neighbours 10-20 %, omitted or added 10-20 %; the split used here lies inside
those ranges. That thirteen is heard as thirty is in the same book; its share is a value from memory.
"""

from __future__ import annotations

SINGLE, TRANSPOSED, OMITTED, ADDED, TEEN = 0.75, 0.12, 0.06, 0.06, 0.01


def mishearings(said: str, heard: str) -> list[tuple[str, float]]:
    """Every digit slip that turns ``said`` into ``heard``: words, and its chance given a slip.

    Both are decimal numbers without leading zeros; over all ``heard`` the chances sum to at most 1.
    """
    found = (
        ("one digit changed", _single(said, heard)),
        ("two digits swapped", _transposed(said, heard)),
        ("a digit left out", _omitted(said, heard)),
        ("a digit too many", _added(said, heard)),
        ("sounds like it", _teen(said, heard)),
    )
    return [(how, chance) for how, chance in found if chance > 0]


def _single(said: str, heard: str) -> float:
    differing = sum(a != b for a, b in zip(said, heard, strict=False))
    return SINGLE / (9 * len(said)) if len(said) == len(heard) and differing == 1 else 0.0


def _transposed(said: str, heard: str) -> float:
    """Equal neighbours cannot be told apart when swapped, so they are no slip."""
    swaps = [
        _number(said[:i] + said[i + 1] + said[i] + said[i + 2 :])
        for i in range(len(said) - 1)
        if said[i] != said[i + 1]
    ]
    return TRANSPOSED * swaps.count(heard) / len(swaps) if swaps else 0.0


def _omitted(said: str, heard: str) -> float:
    if len(said) < 2:
        return 0.0
    return OMITTED * [_number(said[:i] + said[i + 1 :]) for i in range(len(said))].count(heard) / len(said)


def _added(said: str, heard: str) -> float:
    if len(heard) != len(said) + 1:
        return 0.0
    ways = [heard[:i] + heard[i + 1 :] for i in range(len(heard))].count(said)
    return ADDED * ways / (10 * len(heard))


def _teen(said: str, heard: str) -> float:
    """13 and 30 … 19 and 90, also behind hundreds: 113 and 130."""
    if len(said) != len(heard) or len(said) < 2 or said[:-2] != heard[:-2]:
        return 0.0
    for teen, ty in ((said[-2:], heard[-2:]), (heard[-2:], said[-2:])):
        if teen[0] == "1" and teen[1] in "3456789" and ty == teen[1] + "0":
            return TEEN
    return 0.0


def _number(digits: str) -> str:
    return digits.lstrip("0") or "0"
