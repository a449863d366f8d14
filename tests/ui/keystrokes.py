"""The tasks of a walk, with the keys that do each and the most keys it may take.

A value, a number or a list costs what is called out, so its keys are given beside the budget and not
in it: ``goal`` says how it is counted. A point in a value counts as a digit. From the shell a typed
word counts as one, since a shell completes it and brings it back with one key.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fieldtui.core.plan.tables import Instrument
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from tests.ui.walking import METER, Hand, begin_desk

KEYPAD = frozenset({*"0123456789.", "slash", "asterisk", "minus", "plus", "enter"})
SMALL = Instrument(id="m2", title="three readings", memory_size=3, calibration_due=METER.calibration_due)

# Card, Moran and Newell: The Keystroke-Level Model for User Performance Time with Interactive
# Systems, CACM 23(7), 1980, 396-410: K 0.20 s average skilled typist, 0.28 s average non-secretary
# typist, M 1.35 s (from memory). The system's own time R is left out: it is measured in tests/bench.
KEY_S = {"average non-secretary typist": 0.28, "average skilled typist": 0.20}
MENTAL_S = 1.35


@dataclass(frozen=True, slots=True)
class Task:
    """``plain`` and ``keypad``: units of thought, each some keys; a unit costs one M (rules 1 to 4)."""

    name: str
    goal: str
    budget: int  # keys beside those of what is called out
    called: int  # keys of what is called out: a value's digits, a list
    plain: tuple[str, ...]
    keypad: tuple[str, ...]
    is_done: Callable[[Hand], bool]
    before: tuple[str, ...] = ()
    is_small: bool = False  # walked with a meter of three readings

    @property
    def most(self) -> int:
        return self.budget + self.called

    def begin(self, workspace: Workspace) -> Desk:
        """A session as the task finds it but for the keys of ``before``."""
        meter, number = (SMALL, 1) if self.is_small else (METER, 17)
        return begin_desk(workspace, meter=meter, next_number=number)


def keys_of(units: tuple[str, ...]) -> list[str]:
    """One name a key: ``enter`` and the like as they are, anything else character by character."""
    words = [word for unit in units for word in unit.split()]
    return [key for word in words for key in ([word] if word in KEYPAD else word)]


def klm_seconds(units: tuple[str, ...], key_s: float) -> float:
    return len(keys_of(units)) * key_s + len(units) * MENTAL_S


async def play(task: Task, keys: list[str], hand: Hand) -> None:
    """Do the task; it must be done with the last key and not before.

    Raises:
        AssertionError: it was done too early, or is not done.
    """
    await hand.press(*keys_of(task.before))
    for key in keys:
        assert not task.is_done(hand), f"{task.name}: done before {key}; keys too many"
        await hand.press(key)
    for _ in range(20):
        if not task.is_done(hand):
            await hand.settle()
    assert task.is_done(hand), f"{task.name}: not done\n{hand.screen()}"


def _has(kind: str, count: int = 1, **cells: str) -> Callable[[Hand], bool]:
    """So many rows of a kind, the last with these cells."""

    def is_so(hand: Hand) -> bool:
        rows = hand.rows(kind)
        return len(rows) == count and all(rows[-1][name] == cell for name, cell in cells.items())

    return is_so


FIRST = "1.38 enter"
FILL = ("1.10 enter", "1.24 enter", "1.31 enter")
IN_STEP = ("1", "1", "enter")  # take over, why, the memory is cleared

TASKS = (
    Task("reading within limits", "digits + 1", 1, 4, (FIRST,), (FIRST,), _has("reading", value="1.38")),
    Task("skip with a reason", "2", 2, 0, ("s", "2"), ("minus", "2"), _has("skip", point="SW-01")),
    Task(
        "take the last again",
        "2 + value",
        2,
        5,
        ("t", "1", "1.29 enter"),
        ("plus", "1", "1.29 enter"),
        _has("reading", 2, value="1.29", point="SW-01"),
        before=(FIRST,),
    ),
    Task(
        "void the last",
        "3",
        3,
        0,
        ("v", "enter", "3"),
        ("slash", "5", "3"),
        _has("void", ref="1"),
        before=(FIRST,),
    ),
    Task(
        "number check",
        "digits + 2",
        2,
        2,
        ("c", "17 enter"),
        ("asterisk", "17 enter"),
        _has("number", number="17"),
        before=(FIRST,),
    ),
    Task("try without a value", "2", 2, 0, ("x", "2"), ("slash", "2"), _has("attempt", point="SW-01")),
    Task(
        "memory full to next run, list keyed",
        "6 + list",
        6,
        15,
        ("f", "1", *FILL, "enter", *IN_STEP),
        ("slash", "6", *FILL, "enter", *IN_STEP),
        _has("run", 2, run="2", number="1"),
        before=FILL,
        is_small=True,
    ),
)
