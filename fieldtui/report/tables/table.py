"""A table of the HTML report as plain cells. Nothing in it is markup; the templates draw it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import Limit

Cell = tuple[str, ...]  # the lines of one cell, none for an empty one


@dataclass(frozen=True, slots=True)
class Column:
    """``look`` is the class its cells have on the page: a width: ``slim`` to ``longer``, or ``wide``."""

    label: str
    look: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """Cells in the order of the columns; the first names the row. ``is_loud`` is set in bold."""

    cells: tuple[Cell, ...]
    is_loud: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """``caption`` says what the rows are."""

    caption: str
    columns: Sequence[Column]
    rows: Sequence[Row]


def lines(*texts: str) -> Cell:
    """A cell of the lines that say something."""
    return tuple(text for text in texts if text)


def columns(*labels: str) -> tuple[Column, ...]:
    """Columns from labels such as ``Value:short``."""
    parted = (label.partition(":") for label in labels)
    return tuple(Column(label, look) for label, _, look in parted)


def chunked(rows: Iterable[tuple[str, Row]], size: int) -> Iterator[tuple[str, list[Row]]]:
    """Rows under one heading after the other, at most ``size`` together; nothing is left out."""
    heading, gathered = "", list[Row]()
    for title, row in rows:
        if gathered and (title != heading or len(gathered) == size):
            yield heading, gathered
            gathered = []
        heading = title
        gathered.append(row)
    if gathered:
        yield heading, gathered


def limit_words(limit: Limit, unit: Unit | None = None) -> str:
    """The limit as printed: ``≤ 3.0 mΩ``, in ``unit`` too; a strict one keeps its ``<``."""
    return limit.figures_in(unit).replace("<=", "≤").replace(">=", "≥")
