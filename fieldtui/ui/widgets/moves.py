"""Moving a mark through a list: arrows and page keys, and ``+`` and ``*`` on the numeric keypad."""

from __future__ import annotations

_FAR = 10**9
MOVES = frozenset({"up", "down", "pageup", "pagedown", "home", "end", "plus", "asterisk"})


def moved(key: str, at: int, count: int, height: int) -> int:
    """The place after a key of :data:`MOVES`, of ``count`` of which ``height`` are in sight."""
    page = max(1, height - 1)
    steps = {"up": -1, "down": 1, "pageup": -page, "pagedown": page, "home": -_FAR, "end": _FAR}
    steps |= {"asterisk": -1, "plus": 1}
    return max(0, min(count - 1, at + steps[key]))


def window(marked: int, count: int, height: int) -> range:
    """The places that are drawn where there is room for ``height``: those around the marked one."""
    first = max(0, min(marked - height // 2, count - height))
    return range(first, min(count, first + height))
