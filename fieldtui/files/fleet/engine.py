"""DuckDB over the files of many sessions: nothing but these files, no network, no extensions.

DuckDB is an extra. It runs in memory; its doors are shut before the first file is read: it may open the
files it was given and nothing else, loads no extension, and takes no more settings.
"""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import astuple, dataclass
from typing import Any

from fieldtui.errors import BadInputError, WrongUseError
from fieldtui.files.fleet.queries import query

_SHUT = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "allow_community_extensions": "false",
    "allow_unsigned_extensions": "false",
    "temp_directory": "",
    "threads": "1",  # many small files: measured faster than two or four
}
_SEPARATOR = "\x1f"


@dataclass(frozen=True, slots=True)
class SessionRow:
    """One row of the table of sessions; the fields are its columns."""

    session: str
    asset: str
    route: str
    first_link: str
    digest: str
    trail: str = ""
    results: str = ""


@dataclass(frozen=True, slots=True)
class SettledRow:
    """What a survey left at a point; the fields are the columns of the table."""

    session: str
    point: str
    record: int
    time: str
    value: str
    unit: str
    verdict: str
    is_retest: int
    limit_text: str = ""
    has_failed: int = 0  # 1 where a take that holds failed, be it that a later one passed


@dataclass(frozen=True, slots=True)
class PointRow:
    """One point over its surveys; the fields are the columns of points.sql."""

    asset: str
    route: str
    point: str
    surveys: int
    failed: int  # surveys in which it failed, repaired in the same one or not
    first_time: str
    first_value: str
    first_unit: str
    last_time: str
    last_value: str
    last_unit: str


@dataclass(frozen=True, slots=True)
class Loaded:
    """What the trails are, before anything is read out of them."""

    broken: Mapping[str, int]  # by session, the first row at which its chain does not hold
    not_followed: Mapping[str, tuple[int, str]]  # by session, row and why the queries cannot follow it
    states: Mapping[str, tuple[int, bool]]  # by session, its rows and whether it is closed


def require_engine() -> None:
    """See that DuckDB is there before anything is read.

    Raises:
        WrongUseError: it is not installed here.
    """
    if importlib.util.find_spec("duckdb") is None:
        raise WrongUseError(
            "Trends over a folder of sessions want DuckDB, which is not installed here",
            remedy="pip install '.[fleet]' in the program's folder; or without it: name each session, or add "
            "--singly to have those that lie in the folder read one by one",
        )


class FleetTables:
    """The tables over one set of sessions. Use it in a ``with`` statement.

    Raises:
        WrongUseError: DuckDB is not installed here.
    """

    def __init__(self, sessions: Sequence[SessionRow]) -> None:
        require_engine()
        self._duckdb: Any = importlib.import_module("duckdb")
        self._trails = [row.trail for row in sessions if row.trail]
        self._results = [row.results for row in sessions if row.results]
        self._connection = self._duckdb.connect(":memory:", config=_SHUT)
        self._run("SET allowed_paths = $files", files=[*self._trails, *self._results])
        self._run("SET enable_external_access = false")
        self._run("SET lock_configuration = true")
        self._run(query("tables"))
        self._insert("sessions", sessions)

    def __enter__(self) -> FleetTables:
        return self

    def __exit__(self, *_: object) -> None:
        self._connection.close()

    def load(self) -> Loaded:
        """Read the trails and say which of them the queries can answer for.

        Raises:
            BadInputError: the engine cannot read them at all.
        """
        if self._trails:
            self._run(query("load_trail"), files=self._trails)
        if self._results:
            self._run(query("load_results"), files=self._results)
        broken = self._run(query("chain"), separator=_SEPARATOR)
        return Loaded(
            broken={session: int(row) for session, row in broken},
            not_followed={session: (int(row), why) for session, row, why in self._run(query("not_followed"))},
            states={
                session: (int(rows), bool(closed)) for session, rows, closed in self._run(query("states"))
            },
        )

    def candidates(self) -> list[SettledRow]:
        """What the queries say that every survey left at every point."""
        names = ("settled", "settled_results")
        return [SettledRow(*row) for name in names for row in self._run(query(name))]

    def leave_out(self, sessions: Iterable[str]) -> None:
        """Take the rows of these sessions out: they are read in another way."""
        self._run("DELETE FROM trail WHERE session IN (SELECT UNNEST($gone))", gone=list(sessions))

    def settle(self, others: Sequence[SettledRow]) -> None:
        """Keep what every survey left at every point, ``others`` added, which were found in another way."""
        for name in ("settled", "settled_results"):
            self._run(f"INSERT INTO settled {query(name)}")
        self._insert("settled", others)

    def points(self) -> list[PointRow]:
        """Every point over its surveys; :meth:`settle` comes first."""
        return [PointRow(*row) for row in self._run(query("points"))]

    def _insert(self, table: str, rows: Sequence[SessionRow] | Sequence[SettledRow]) -> None:
        if not rows:
            return
        columns = list(zip(*(astuple(row) for row in rows), strict=True))
        given = {f"c{place}": list(column) for place, column in enumerate(columns)}
        unnested = ", ".join(f"UNNEST(${name})" for name in given)
        self._run(f"INSERT INTO {table} SELECT {unnested}", **given)

    def _run(self, statement: str, **parameters: object) -> list[tuple[Any, ...]]:
        try:
            answer = self._connection.execute(statement, parameters or None)
            return list(answer.fetchall()) if answer is not None else []
        except self._duckdb.Error as error:
            raise BadInputError(
                f"The files of the fleet cannot be read at once: {type(error).__name__}",
                remedy="add --singly, or name each session: they are read one by one then",
            ) from None
