"""The published queries over trails and results, run by the engine with its doors shut."""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from random import Random
from typing import Any

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.trail import events as ev
from fieldtui.errors import BadInputError, WrongUseError
from fieldtui.files.fleet.engine import FleetTables, SessionRow, SettledRow, require_engine
from fieldtui.files.fleet.queries import QUERIES, all_queries, query
from tests.desk.fleet_maker import CALM, METER, Walk, route_file, write_session

START = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)


def row_of(folder: Path, **more: Any) -> SessionRow:
    toml = (folder / "session.toml").read_bytes()
    return SessionRow(
        session=folder.name,
        asset="aircraft",
        route="wing",
        first_link=sha256(folder.name.encode()).hexdigest()[:32],
        digest=sha256(toml).hexdigest(),
        trail=(folder / "trail.csv").as_posix(),
        **more,
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A session of two points: P01 read, voided and read again, and closed."""
    return session(tmp_path, "2026-05-04_aircraft_wing_01", "1.50", "1.60")


def session(root: Path, name: str, *values: str, more: ev.Event | None = None) -> Path:
    route = route_file("wing", "aircraft", 2)
    walk = Walk(route, METER, START, Random(1))
    walk.tell(ev.Started, ref="0" * 64)
    for value in values:
        walk.read("P01", float(value))
        if value is not values[-1]:
            record = max(walk.survey.records)
            walk.tell(ev.Voided, ref=record, point="P01", reason="wrong clip")
    if more is not None:
        walk.events.append(replace(more, time=walk.time))
    walk.tell(ev.Closed)
    return write_session(root / name, route, walk, METER, START, name=name)


def test_what_was_left_at_each_point_is_found_by_query(folder: Path) -> None:
    with FleetTables([row_of(folder)]) as tables:
        loaded = tables.load()
        assert (dict(loaded.broken), dict(loaded.not_followed)) == ({}, {})
        assert dict(loaded.states) == {folder.name: (5, True)}
        (left,) = tables.candidates()
        assert (left.session, left.point, left.record, left.verdict) == (folder.name, "P01", 2, "pass")
        assert float(left.value) * {"mohm": 1, "uohm": 0.001}[left.unit] == pytest.approx(1.6)
        tables.settle([])
        (point,) = tables.points()
        assert (point.point, point.surveys, point.failed) == ("P01", 1, 0)


def test_a_changed_cell_breaks_the_chain_at_its_row(folder: Path) -> None:
    trail = folder / "trail.csv"
    trail.write_bytes(trail.read_bytes().replace(b"wrong clip", b"wrong clap"))
    with FleetTables([row_of(folder)]) as tables:
        assert dict(tables.load().broken) == {folder.name: 3}


def test_a_trail_that_the_queries_cannot_follow_is_named_with_its_row(tmp_path: Path) -> None:
    moved = ev.ReadingsShifted(time=START, by="Ana", ref=1, record=1, point="P02", reason="out of step")
    folder = session(tmp_path, "2026-05-04_aircraft_wing_01", "1.50", more=moved)
    with FleetTables([row_of(folder)]) as tables:
        not_followed = tables.load().not_followed
        assert not_followed.keys() == {folder.name}
        assert not_followed[folder.name][0] == 3


@pytest.mark.parametrize("verdict", ev.Answer)
def test_a_failed_check_of_the_meter_is_not_left_to_the_queries(tmp_path: Path, verdict: ev.Answer) -> None:
    check = ev.StandardRead(
        time=START, by="Ana", reading=Resistance(Decimal("2.6"), Unit.MOHM), verdict=verdict,
        ref=ev.CheckTime.AFTER,
    )  # fmt: skip
    folder = session(tmp_path, "2026-05-04_aircraft_wing_01", "1.50", more=check)
    with FleetTables([row_of(folder)]) as tables:
        found = dict(tables.load().not_followed)
    good = verdict is ev.Answer.GOOD
    assert found == ({} if good else {folder.name: (3, "a check of the meter failed")})


@pytest.mark.parametrize(
    ("item", "read", "is_followed"),
    [("check standard", "2.6", False), ("check standard", "", True), ("calibration", "", True)],
)
def test_a_check_standard_overridden_in_the_brief_is_not_left_to_the_queries(
    tmp_path: Path, item: str, read: str, *, is_followed: bool
) -> None:
    reading = Resistance(Decimal(read), Unit.MOHM) if read else None
    answer = ev.Briefed(
        time=START, by="Ana", ref=item, verdict=ev.Answer.OVERRIDE, reading=reading, reason="told to"
    )
    folder = session(tmp_path, "2026-05-04_aircraft_wing_01", "1.50", more=answer)
    with FleetTables([row_of(folder)]) as tables:
        found = dict(tables.load().not_followed)
    assert found == ({} if is_followed else {folder.name: (3, "a check of the meter failed")})


def test_what_was_found_in_another_way_counts_beside_the_rest(tmp_path: Path, folder: Path) -> None:
    other = session(tmp_path, "2026-08-04_aircraft_wing_01", "1.70")
    with FleetTables([row_of(folder), row_of(other)]) as tables:
        tables.load()
        tables.leave_out([other.name])
        assert {row.session for row in tables.candidates()} == {folder.name}
        found = SettledRow(
            other.name, "P01", 1, "2026-08-04T08:30:00.000Z", "2.70", "mohm", "fail", 0, has_failed=1
        )
        tables.settle([found])
        (point,) = tables.points()
        assert (point.surveys, point.failed) == (2, 1)
        assert (point.last_value, point.last_time) == ("2.70", "2026-08-04T08:30:00.000Z")


def test_results_alone_are_read_as_well(tmp_path: Path) -> None:
    path = tmp_path / "results.csv"
    path.write_text(
        "point,limit,as_left,as_left_record,unit,verdict,time\n"
        "P01,<= 2.5 mohm,1.25,1,mohm,pass,2026-02-04T08:30:00.000Z\n"
    )
    row = SessionRow("older", "aircraft", "wing", "", "", results=path.as_posix())
    with FleetTables([row]) as tables:
        assert dict(tables.load().broken) == {}
        (left,) = tables.candidates()
        assert (left.point, left.value, left.unit, left.verdict) == ("P01", "1.25", "mohm", "pass")


def test_no_session_at_all_makes_empty_tables() -> None:
    with FleetTables([]) as tables:
        assert not tables.load().states
        tables.settle([])
        assert tables.points() == []


def test_nothing_but_the_files_that_were_given_can_be_read(tmp_path: Path, folder: Path) -> None:
    (tmp_path / "secret.csv").write_text("a\n1\n")
    with FleetTables([row_of(folder)]) as tables:
        for statement in (
            f"FROM '{(tmp_path / 'secret.csv').as_posix()}'",
            "INSTALL httpfs",
            "SET enable_external_access = true",
            f"COPY (SELECT 1) TO '{(tmp_path / 'out.csv').as_posix()}'",
        ):
            with pytest.raises(BadInputError, match="cannot be read at once"):
                tables._run(statement)
    assert not (tmp_path / "out.csv").exists()


def test_a_trail_that_is_gone_is_told_with_another_way(folder: Path) -> None:
    (folder / "trail.csv").unlink()
    with FleetTables([row_of(folder)]) as tables, pytest.raises(BadInputError) as caught:
        tables.load()
    assert "--singly" in caught.value.remedy


def test_without_the_engine_it_is_said_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(WrongUseError) as caught:
        require_engine()
    assert "--singly" in caught.value.remedy
    with pytest.raises(WrongUseError, match="not installed"):
        FleetTables([])


def test_every_query_is_published_under_the_name_of_its_file() -> None:
    text = all_queries()
    assert [line[3:-4] for line in text.splitlines() if line.endswith(".sql")] == list(QUERIES)
    for name in QUERIES:
        assert query(name).rstrip().removesuffix(";") in text
    assert CALM.moved == 0  # the sessions above are of the kind that the queries follow
