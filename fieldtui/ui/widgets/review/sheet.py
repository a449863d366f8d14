"""A table of the review: plain cells, the orders it can be sorted in, and the rows it can be narrowed to."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from fieldtui.desk.reading import ReadSession
from fieldtui.report.identity import Line


@dataclass(frozen=True, slots=True)
class Column:
    """A column's label and its width in characters; what is longer is cut on the table, not below it."""

    label: str
    width: int
    head: str = ""  # what stands above it on the table, where that is more than the label


@dataclass(frozen=True, slots=True)
class SheetRow:
    """Cells as text, one a column. ``is_loud`` rows are set in bold: they failed or were struck out.

    ``point`` is the one that the row is about, ``at`` what the row was made of: a record or a row's number.
    """

    cells: tuple[str, ...]
    is_loud: bool = False
    point: str = ""
    at: int = 0
    searched: str = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "searched", "\n".join(self.cells).casefold())


@dataclass(frozen=True, slots=True)
class Order:
    """A way to sort; ``low`` and ``high`` say in words what stands first either way."""

    name: str
    low: str
    high: str
    key: Callable[[ReadSession, SheetRow], Any]  # None for a row that has nothing to sort by


@dataclass(frozen=True, slots=True)
class Which:
    """Some of the rows; the name is what the reviewer reads. ``choose`` looks at a session once."""

    name: str
    choose: Callable[[ReadSession], Callable[[SheetRow], bool]]


def which(name: str, holds: Callable[[ReadSession, SheetRow], bool]) -> Which:
    """The rows for which something holds."""
    return Which(name, lambda session: partial(holds, session))


EVERY = which("all rows", lambda session, row: True)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table, its rows made when it is first looked at. The first order is the one they are made in."""

    name: str
    columns: tuple[Column, ...]
    rows: Callable[[ReadSession], Sequence[SheetRow]]
    orders: tuple[Order, ...]
    which: tuple[Which, ...] = (EVERY,)
    further: Callable[[ReadSession, SheetRow], Sequence[Line]] | None = None  # of the marked row alone
    further_at: int = 0  # the cells that come before it; a label in it goes for the cell of that label


def columns_of(*parts: tuple[str, int] | tuple[str, int, str]) -> tuple[Column, ...]:
    """Columns of a label and a width each, and of what stands above it where that is more."""
    return tuple(Column(*each) for each in parts)


def has_words(searched: str, words: str) -> bool:
    """Whether every word of ``words`` stands somewhere in the casefolded text."""
    return all(word in searched for word in words.casefold().split())


def matching(rows: Iterable[SheetRow], words: str) -> list[SheetRow]:
    """The rows with all of ``words``."""
    return [row for row in rows if has_words(row.searched, words)]


def sort_rows(
    rows: Sequence[SheetRow], session: ReadSession, order: Order, *, is_turned: bool
) -> list[SheetRow]:
    """Rows in an order, either way round; those with nothing to sort by always come last."""
    keyed = [(order.key(session, row), row) for row in rows]
    known = [pair for pair in keyed if pair[0] is not None]
    known.sort(key=lambda pair: pair[0], reverse=is_turned)
    return [row for _, row in known] + [row for key, row in keyed if key is None]
