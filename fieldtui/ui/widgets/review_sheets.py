"""The tables of the review as plain cells: readings, points, trail. No widget, nothing judged here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime

from fieldtui.core.events import Event
from fieldtui.core.standing import Record, Result
from fieldtui.core.survey import Survey
from fieldtui.desk.reading import ReadSession
from fieldtui.report.finding import Finding
from fieldtui.report.results_csv import describe_limit
from fieldtui.report.told import cell_text, remarks_on
from fieldtui.ui.phrases import STATES, VERDICTS, VOID, Mark


@dataclass(frozen=True, slots=True)
class Column:
    """A column's label and its width in characters; what is longer is cut on the table, not below it."""

    label: str
    width: int


@dataclass(frozen=True, slots=True)
class SheetRow:
    """Cells as text, one a column. ``is_loud`` rows are set in bold: they failed or were struck out."""

    cells: tuple[str, ...]
    is_loud: bool = False
    searched: str = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "searched", "\n".join(self.cells).casefold())


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table, its rows made when it is first looked at."""

    name: str
    columns: tuple[Column, ...]
    rows: Callable[[ReadSession], Sequence[SheetRow]]


def has_words(searched: str, words: str) -> bool:
    """Whether every word of ``words`` stands somewhere in the casefolded text."""
    return all(word in searched for word in words.casefold().split())


def finding_text(finding: Finding) -> str:
    """What a search looks at in a finding."""
    parts = (finding.kind.value, finding.what, finding.where, finding.reason, finding.remedy)
    return "\n".join(parts).casefold()


# --- readings ------------------------------------------------------------------------------


def _readings(session: ReadSession) -> list[SheetRow]:
    return [_reading(record) for record in session.survey.records.values()]


def _reading(record: Record) -> SheetRow:
    mark = VERDICTS[record.verdict] if record.is_valid else VOID
    return SheetRow(
        (
            str(record.record),
            record.point,
            str(record.reading),
            _word(mark),
            _memory(record),
            "; ".join(remarks_on(record)),
            _time(record.time),
            record.by,
            str(record.row),
        ),
        is_loud=not record.is_valid or mark.word.isupper(),
    )


def _memory(record: Record) -> str:
    return "" if record.number is None else f"{record.run}/{record.number}"


# --- points --------------------------------------------------------------------------------


def _points(session: ReadSession) -> list[SheetRow]:
    return [_point(session.survey, point) for point in session.survey.order.ids]


def _point(survey: Survey, point_id: str) -> SheetRow:
    point, standing = survey.points[point_id], survey.standings[point_id]
    mark = STATES[standing.state]
    return SheetRow(
        (
            point.id,
            _word(mark),
            _value(standing.as_found),
            _value(standing.as_left),
            describe_limit(point.limit),
            point.title,
            point.section,
            point.where,
            point.a,
            point.b,
            standing.reason,
            " ".join(map(str, standing.records)),
            "unplanned" if point.unplanned else "",
        ),
        is_loud=mark.word.isupper(),
    )


def _value(result: Result | None) -> str:
    return "" if result is None else str(result.value)


# --- trail ---------------------------------------------------------------------------------


def _trail(session: ReadSession) -> list[SheetRow]:
    return [_event(row, event) for row, event in enumerate(session.events, 1)]


_IN_ORDER = ("point", "record", "reading", "verdict", "run", "number", "ref", "reason", "note", "by")


def _event(row: int, event: Event) -> SheetRow:
    names = {each.name for each in fields(event)}
    note = "definition" if "definition" in names else "note"
    cells = [
        cell_text(getattr(event, note if name == "note" else name)) if name in names else ""
        for name in _IN_ORDER
    ]
    return SheetRow((str(row), _time(event.time), event.kind, *cells))


def _time(time: datetime) -> str:
    return time.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%S")


def _word(mark: Mark) -> str:
    return f"{mark.shape} {mark.word}"


def _columns(*labels_and_widths: tuple[str, int]) -> tuple[Column, ...]:
    return tuple(Column(label, width) for label, width in labels_and_widths)


READINGS = Sheet(
    "readings",
    _columns(
        ("rec", 5), ("point", 10), ("value", 13), ("verdict", 10), ("memory", 8), ("remarks", 26),
        ("time UTC", 19), ("by", 12), ("row", 6),
    ),
    _readings,
)  # fmt: skip
POINTS = Sheet(
    "points",
    _columns(
        ("point", 10), ("state", 14), ("as found", 11), ("as left", 11), ("limit", 24), ("title", 30),
        ("section", 10), ("where", 20), ("A", 20), ("B", 20), ("reason", 26), ("records", 12), ("", 9),
    ),
    _points,
)  # fmt: skip
TRAIL = Sheet(
    "trail",
    _columns(
        ("row", 5), ("time UTC", 19), ("kind", 9), ("point", 9), ("rec", 4), ("value", 12), ("verdict", 8),
        ("run", 3), ("number", 6), ("ref", 12), ("reason", 26), ("note", 40), ("by", 12),
    ),
    _trail,
)  # fmt: skip
SHEETS: Sequence[Sheet] = (READINGS, POINTS, TRAIL)


def matching(rows: Iterable[SheetRow], words: str) -> list[SheetRow]:
    """The rows with all of ``words``."""
    return [row for row in rows if has_words(row.searched, words)]
