"""Trends over a whole fleet by SQL: the same answer as reading simulated sessions one by one."""

from __future__ import annotations

import csv
import errno
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from dataclasses import astuple, replace
from datetime import UTC, datetime
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from random import Random
from typing import Any

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.session import Session
from fieldtui.core.plan.tables import Caution
from fieldtui.core.trail import events as ev
from fieldtui.core.trail.events import KINDS
from fieldtui.desk.comparing import follow_sessions
from fieldtui.desk.fleet import Fleet, follow_fleet
from fieldtui.desk.reading import read_session
from fieldtui.desk.sources import NONE_STATED, points_of
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError, WrongUseError
from fieldtui.files.disk import Disk
from fieldtui.files.fleet import engine
from fieldtui.files.fleet.engine import FleetTables, SessionRow
from fieldtui.files.fleet.queries import QUERIES, query
from fieldtui.files.session.file import parse_session
from fieldtui.files.session.snapshots import SnapshotReader
from fieldtui.files.trail.rows import COLUMNS, parse_time
from fieldtui.report.between.fleet_text import format_fleet
from fieldtui.report.between.history_json import trends_as_json
from fieldtui.report.results_csv import format_results
from tests.desk.fleet_maker import (
    CAUTIONS,
    METER,
    Chances,
    Walk,
    make_fleet,
    route_file,
    walk_route,
    write_session,
)

MOVED = Chances(moved=0.05, insert=0.02)


def one_by_one(root: Path) -> dict[str, Any]:
    """The reference: every session folded event by event."""
    answer = trends_as_json(follow_sessions(Workspace(root, Disk()), [str(root)]))
    return {route["sessions"][0]["route"]: route for route in answer["routes"]}  # type: ignore[attr-defined]


def by_query(fleet: Fleet) -> dict[str, Any]:
    from fieldtui.desk.comparing import Followed

    followed = Followed(tuple(route.trends for route in fleet.routes), ())
    return {route["sessions"][0]["route"]: route for route in trends_as_json(followed)["routes"]}  # type: ignore[attr-defined]


def reference_counts(root: Path) -> dict[tuple[str, str], tuple[int, int, str, str]]:
    """Of each point by route: surveys, failed ones, first and last value, from the fold."""
    found: dict[tuple[str, str], list[Any]] = {}
    for folder in sorted(path.parent for path in root.rglob("session.toml")):
        session = read_session(Disk(), folder)
        for seen in points_of(session, NONE_STATED):
            if seen.reading is not None:
                key = (session.facts.route.name, seen.point)
                found.setdefault(key, []).append((seen.reading.when, session.facts.id, seen.reading))
    counts = {}
    for key, readings in found.items():
        readings.sort(key=lambda each: each[:2])
        values = [each[2] for each in readings]
        failed = sum(reading.has_failed for reading in values)
        counts[key] = (len(values), failed, values[0].value.digits, values[-1].value.digits)
    return counts


def counts_of(fleet: Fleet) -> dict[tuple[str, str], tuple[int, int, str, str]]:
    points = [point.counts for route in fleet.routes for point in route.points]
    return {(p.route, p.point): (p.surveys, p.failed, p.first_value, p.last_value) for p in points}


# --- the same as the fold ------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
def test_what_the_queries_settle_is_what_the_fold_settles(tmp_path: Path, seed: int) -> None:
    """Voids, redos, corrections, rework, skips, waivers, reopened sessions: nothing is read singly."""
    make_fleet(tmp_path, seed, assets=3, surveys=5)
    fleet = follow_fleet(Disk(), [tmp_path])
    assert fleet.read_singly == {}
    assert fleet.left_out == ()
    assert by_query(fleet) == one_by_one(tmp_path)
    assert counts_of(fleet) == reference_counts(tmp_path)


@pytest.mark.parametrize("seed", range(6, 9))
def test_what_the_queries_cannot_follow_is_read_singly_and_comes_out_the_same(
    tmp_path: Path, seed: int
) -> None:
    """Shifted and mirrored readings, corrected points, unplanned points, takes of two readings."""
    make_fleet(tmp_path, seed, assets=3, surveys=5, odds=MOVED, is_repeated=True)
    fleet = follow_fleet(Disk(), [tmp_path])
    assert by_query(fleet) == one_by_one(tmp_path)
    assert counts_of(fleet) == reference_counts(tmp_path)
    assert fleet.read_singly["several readings make one value"] == 5


def test_values_judged_at_20_are_told_so_by_query_too(tmp_path: Path) -> None:
    """2.39 at 8.8 C: 1 + 0.00393 * (8.8 - 20) = 0.955984; 2.39 / 0.955984 = 2.500042 (worked out by hand)."""
    route = route_file("wing", "ZX-41", 1, top="correct_to_20 = true")
    cold = replace(route, route=route.route.at_temperature(Decimal("8.8")))
    start = datetime(2026, 5, 4, 8, tzinfo=UTC)
    walk = Walk(cold, METER, start, Random(3))
    walk.tell(ev.Started, ref="0" * 64)
    walk.read("P01", 2.39)
    name = "2026-05-04_wing_01"
    write_session(tmp_path / name, route, walk, METER, start, name=name, conductor_c=Decimal("8.8"))
    fleet = follow_fleet(Disk(), [tmp_path])
    assert fleet.read_singly == {}
    assert by_query(fleet) == one_by_one(tmp_path)
    text = " ".join(format_fleet(fleet, 5).split())
    assert ">100 % of <= 2.5 mΩ" in text and "(2.50004 mΩ at 20 °C) fail" in text


def test_the_simulated_sessions_have_what_makes_it_hard(tmp_path: Path) -> None:
    kinds: dict[str, int] = {}
    for seed in (*range(4), *range(6, 9)):
        make_fleet(tmp_path / str(seed), seed, surveys=5, odds=MOVED if seed > 5 else Chances())
    for path in tmp_path.rglob("trail.csv"):
        with path.open(newline="", encoding="utf-8") as file:
            for row in csv.DictReader(file):
                kinds[row["kind"]] = kinds.get(row["kind"], 0) + 1
    settling = ("void", "redo", "amend", "rework", "reopen", "skip", "waive", "handover")
    for kind in (*settling, "shift", "mirror", "insert", "meter"):
        assert kinds.get(kind, 0) >= 5, kind


def test_a_query_that_forgot_voids_or_took_the_first_correction_would_be_noticed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_fleet(tmp_path, 1, assets=2, surveys=4, odds=Chances(redo=0.2, void=0.2, amend=0.2, rework=0.2))
    whole = query("settled")
    wrong = (
        whole.replace("v.kind = 'void'", "v.kind = 'nothing'"),
        whole.replace('ORDER BY "row" DESC', 'ORDER BY "row"'),
        whole.replace("r.record DESC", "r.record"),
        whole.replace("w.kind = 'rework'", "w.kind = 'nothing'"),
    )
    for text in wrong:
        assert text != whole
        monkeypatch.setattr(
            engine, "query", lambda name, text=text: text if name == "settled" else query(name)
        )
        assert by_query(follow_fleet(Disk(), [tmp_path])) != one_by_one(tmp_path)


# --- what makes a session one that the queries cannot answer for ---------------------------------


def one_session(root: Path, edit: Callable[[list[str]], list[str]] | None = None) -> Path:
    (folder,) = make_fleet(root, 3, assets=1, surveys=1)
    if edit is not None:
        path = folder / "trail.csv"
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        path.write_text("".join(edit(lines)), encoding="utf-8", newline="")
    return folder


EDITS: dict[str, Callable[[list[str]], list[str]]] = {
    "a changed value": lambda lines: [line.replace(",mohm,", ",uohm,") for line in lines],
    "a row taken out": lambda lines: lines[:4] + lines[5:],
    "rows swapped": lambda lines: [*lines[:4], lines[5], lines[4], *lines[6:]],
    "a row twice": lambda lines: [*lines[:5], lines[4], *lines[5:]],
    "another start": lambda lines: [lines[0], lines[1].replace("start", "open"), *lines[2:]],
    "a quotation mark": lambda lines: [*lines[:6], lines[6].replace(",", ',"', 1), *lines[7:]],
    "too few cells": lambda lines: [*lines[:6], "7,x\n", *lines[7:]],
    "an unfinished row": lambda lines: [*lines, "99,2026"],
    "CR LF": lambda lines: [line.replace("\n", "\r\n") for line in lines],
    "semicolons": lambda lines: [line.replace(",", ";") for line in lines],
    "no header": lambda lines: lines[1:],
    "a NUL": lambda lines: [*lines[:6], lines[6].replace(",", "\0,", 1), *lines[7:]],
    "a number with a nought": lambda lines: [line.replace("3,", "03,", 1) for line in lines],
    "a word for a row": lambda lines: [*lines[:6], "x" + lines[6], *lines[7:]],
    "empty but for the header": lambda lines: lines[:1],
}


@pytest.mark.parametrize("name", EDITS)
def test_an_edited_trail_is_never_left_to_the_queries(tmp_path: Path, name: str) -> None:
    one_session(tmp_path / "bad", EDITS[name])
    make_fleet(tmp_path / "good", 4, assets=1, surveys=2, first=1)
    fleet = follow_fleet(Disk(), [tmp_path])
    assert sum(fleet.read_singly.values()) == 1
    assert fleet.sessions == 3
    assert counts_of(fleet) == reference_counts(tmp_path)


def test_a_trail_cut_at_a_row_s_end_is_shorter_and_no_worse(tmp_path: Path) -> None:
    """Nothing in the trail itself shows that; the rows copied on to the job card do."""
    one_session(tmp_path, lambda lines: lines[:-3])
    assert counts_of(follow_fleet(Disk(), [tmp_path])) == reference_counts(tmp_path)


def test_a_reading_of_a_point_that_is_not_on_the_route_is_noticed(tmp_path: Path) -> None:
    route, other = route_file("r", "a", 4), route_file("r", "a", 6)
    start = datetime(2026, 1, 1, tzinfo=UTC)
    walk = walk_route(other, METER, start, Random(1), Chances(), 0)
    write_session(tmp_path / "s", route, walk, METER, start, name="s")
    fleet = follow_fleet(Disk(), [tmp_path])
    assert list(fleet.read_singly) == ["it has readings of points that are not on its route"]
    assert counts_of(fleet) == reference_counts(tmp_path)


# --- what lies in the folders ---------------------------------------------------------------------


def test_sessions_are_found_however_deep_and_bad_ones_are_named(tmp_path: Path) -> None:
    folders = make_fleet(tmp_path / "a" / "b", 5, assets=1, surveys=4)
    (tmp_path / "a" / "notes").mkdir()
    (tmp_path / "loop").symlink_to(tmp_path / "a")
    (folders[0] / "session.toml").write_text("format = 2\n", encoding="utf-8")
    (folders[1] / "trail.csv").unlink()
    (folders[2] / "trail.csv").rename(tmp_path / "kept.csv")
    (folders[2] / "trail.csv").symlink_to(tmp_path / "kept.csv")
    fleet = follow_fleet(Disk(), [tmp_path])
    assert fleet.sessions == 1
    for folder, why in zip(fleet.left_out, ("cannot be used", "does not exist", "a link"), strict=True):
        assert why in folder
    assert [line.split(":")[0] for line in fleet.left_out] == [str(folder) for folder in folders[:3]]


def test_a_folder_that_cannot_be_listed_is_named(tmp_path: Path) -> None:
    make_fleet(tmp_path / "a", 5, assets=1, surveys=1)
    (tmp_path / "b").mkdir()

    class Closed(Disk):
        def list_folder(self, path: Path) -> list[str]:
            if path.name == "b":
                raise OSError(errno.EACCES, "refused")
            return super().list_folder(path)

    assert follow_fleet(Closed(), [tmp_path]).left_out == (f"{tmp_path / 'b'}: permission was refused",)


def test_a_second_copy_counts_once_and_practice_does_not_mix_with_real_surveys(tmp_path: Path) -> None:
    (folder,) = make_fleet(tmp_path / "a", 5, assets=1, surveys=1)
    for name in ("session.toml", "trail.csv"):
        (tmp_path / "b").mkdir(exist_ok=True)
        (tmp_path / "b" / name).write_bytes((folder / name).read_bytes())
    route, start = route_file("r", "a", 4), datetime(2026, 1, 1, tzinfo=UTC)
    walk = walk_route(route, METER, start, Random(1), Chances(), 0)
    write_session(tmp_path / "c", route, walk, METER, start, name="c", practice=True)
    fleet = follow_fleet(Disk(), [tmp_path])
    assert fleet.sessions == 1
    assert sorted(line.partition(": ")[2] for line in fleet.left_out) == [
        "a practice, its readings are invented",
        f"a second copy of {folder.name}",
    ]


@pytest.mark.parametrize("name", ["a*b", "a?b", "[ab]", "a'; DROP TABLE trail; --", 'a"b', "{a,b}", "a\\b"])
def test_a_hostile_folder_name_is_no_pattern_and_no_sql(tmp_path: Path, name: str) -> None:
    make_fleet(tmp_path / "aXb", 6, assets=1, surveys=2)
    make_fleet(tmp_path / name, 7, assets=2, surveys=2)
    fleet = follow_fleet(Disk(), [tmp_path / name])
    assert fleet.sessions == 4
    assert counts_of(fleet) == reference_counts(tmp_path / name)


def test_an_empty_folder_and_an_unknown_point_are_said(tmp_path: Path) -> None:
    with pytest.raises(BadInputError, match="no session"):
        follow_fleet(Disk(), [tmp_path])
    make_fleet(tmp_path, 5, assets=1, surveys=2)
    with pytest.raises(BadInputError, match="No session here has a reading of point P99"):
        follow_fleet(Disk(), [tmp_path], point="P99")
    fleet = follow_fleet(Disk(), [tmp_path], point="-P02")
    assert [point.counts.point for route in fleet.routes for point in route.points] == ["-P02"]


def test_without_the_engine_it_says_how_to_get_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    with pytest.raises(WrongUseError) as caught:
        follow_fleet(Disk(), [tmp_path])
    assert "pip install '.[fleet]'" in caught.value.remedy


def test_a_verdict_in_doubt_is_told_as_one_over_a_whole_fleet(tmp_path: Path) -> None:
    route = route_file("wing", "aircraft", 2)
    start = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
    for number, is_good in ((1, True), (2, False)):
        walk = Walk(route, METER, start.replace(month=5 + number), Random(number))
        walk.tell(ev.Started, ref="0" * 64)
        walk.read("P01", 1.5)
        verdict = ev.Answer.GOOD if is_good else ev.Answer.BAD
        reading = Resistance(Decimal("2.5"), Unit.MOHM)
        walk.tell(ev.StandardRead, reading=reading, verdict=verdict, ref=ev.CheckTime.AFTER)
        walk.tell(ev.Closed)
        name = f"2026-0{5 + number}-04_aircraft_wing_01"
        write_session(tmp_path / name, route, walk, METER, walk.time, name=name)
    fleet = follow_fleet(Disk(), [tmp_path])
    assert fleet.read_singly == {"a check of the meter failed": 1}
    (point,) = by_query(fleet)["wing"]["points"]
    assert [sample["in_doubt"] for sample in point["samples"]] == [False, True]
    assert by_query(fleet) == one_by_one(tmp_path)
    assert "1.50 mΩ pass IN DOUBT" in " ".join(format_fleet(fleet, 5).split()).replace("1500 µΩ", "1.50 mΩ")


# --- results.csv alone ------------------------------------------------------------------------------


def test_results_alone_count_with_the_sessions_of_their_route(tmp_path: Path) -> None:
    folders = make_fleet(tmp_path, 8, assets=1, surveys=4)
    before = follow_fleet(Disk(), [tmp_path])
    for folder in folders[:2]:
        (folder / "results.csv").write_bytes(format_results(read_session(Disk(), folder)))
        for name in ("session.toml", "trail.csv"):
            (folder / name).unlink()
    after = follow_fleet(Disk(), [tmp_path])
    assert after.sessions == 4
    # the table gives every value in the point's unit; digits as keyed may be in another one
    assert {key: value[:2] for key, value in counts_of(after).items()} == {
        key: value[:2] for key, value in counts_of(before).items()
    }
    was = {point.counts.point: point.trend for route in before.routes for point in route.points}
    for route in after.routes:
        for point in route.points:
            ohms = [sample.reading.value.ohms for sample in point.trend.samples]
            assert ohms == [s.reading.value.ohms for s in was[point.counts.point].samples[-len(ohms) :]]


@pytest.mark.parametrize(
    ("name", "text", "why"),
    [
        ("2026-01-01_a_r_01", "nonsense\n", "no column point"),
        ("somewhere", "", "not called DATE_ASSET_ROUTE_NN"),
        ("2026-13-01_a_r_01", "", "not called DATE_ASSET_ROUTE_NN"),
        ("2026-01-01_a_r_01", "P01,<= 2.5 mohm,x,1,mohm,pass,2026-01-01T08:00:00.000Z\n", "a value in it"),
        ("2026-01-01_a_r_01", "P01,<= 2.5 mohm,1,1,mohm,fine,2026-01-01T08:00:00.000Z\n", "a verdict in it"),
        ("2026-01-01_a_r_01", "P01,2 or so,1,1,mohm,pass,2026-01-01T08:00:00.000Z\n", "a limit in its"),
        ("2026-01-01_a_r_01", "P01,<= 2.5 mohm,1,1,mohm,pass,today\n", "a time in it"),
    ],
)
def test_foreign_results_are_named_and_stop_nothing(tmp_path: Path, name: str, text: str, why: str) -> None:
    make_fleet(tmp_path / "good", 8, assets=1, surveys=2)
    (tmp_path / name).mkdir()
    head = "" if text.startswith("nonsense") else "point,limit,as_left,as_left_record,unit,verdict,time\n"
    (tmp_path / name / "results.csv").write_text(head + text, encoding="utf-8")
    fleet = follow_fleet(Disk(), [tmp_path])
    assert fleet.sessions == 2
    (line,) = fleet.left_out
    assert name in line
    assert why in line


# --- the engine's doors, and any other engine -----------------------------------------------------------


def rows_of(root: Path) -> list[SessionRow]:
    rows = []
    for folder in sorted(path.parent for path in root.rglob("session.toml")):
        data = (folder / "session.toml").read_bytes()
        facts = parse_session(data, "session.toml")
        digest, trail = sha256(data).hexdigest(), str(folder / "trail.csv")
        rows.append(
            SessionRow(facts.id, facts.route.asset, facts.route.name, facts.first_link, digest, trail)
        )
    return rows


def test_the_engine_opens_its_files_and_nothing_else(tmp_path: Path) -> None:
    make_fleet(tmp_path / "a", 5, assets=1, surveys=1)
    (tmp_path / "secret.csv").write_text("a\n1\n", encoding="utf-8")
    with FleetTables(rows_of(tmp_path)) as tables:
        tables.load()
        for statement in (
            f"FROM read_csv('{tmp_path / 'secret.csv'}')",
            f"COPY (SELECT 1) TO '{tmp_path / 'out.csv'}'",
            f"ATTACH '{tmp_path / 'x.db'}'",
            "INSTALL httpfs",
            "LOAD httpfs",
            "SELECT * FROM read_csv('https://localhost/x.csv')",
            "SET enable_external_access = true",
            "SET autoload_known_extensions = true",
        ):
            with pytest.raises(BadInputError):
                tables._run(statement)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a", "secret.csv"]


def sqlite_over(rows: list[SessionRow]) -> sqlite3.Connection:
    """The standard library's engine with the same tables, filled by the standard library's CSV reader."""
    base = sqlite3.connect(":memory:")
    base.create_function("sha256", 1, lambda text: sha256(text.encode()).hexdigest(), deterministic=True)
    base.executescript(query("tables"))
    base.executemany("INSERT INTO sessions VALUES (?, ?, ?, ?, ?, ?, ?)", map(astuple, rows))
    whole = {"row", "record", "run"}
    for each in rows:
        with Path(each.trail).open(newline="", encoding="utf-8") as file:
            for row in csv.DictReader(file):
                cells = [
                    (int(row[name]) if row[name].isdigit() else None) if name in whole else row[name]
                    for name in COLUMNS
                ]
                base.execute(
                    "INSERT INTO trail VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", (each.session, *cells)
                )
    return base


@pytest.mark.parametrize("name", [name for name in QUERIES if not name.startswith(("load", "tables"))])
def test_another_engine_gives_the_same_answers(tmp_path: Path, name: str) -> None:
    make_fleet(tmp_path, 9, assets=3, surveys=4, odds=MOVED)
    rows = rows_of(tmp_path)
    edited = Path(rows[0].trail)
    edited.write_bytes(edited.read_bytes().replace(b",mohm,", b",uohm,", 1))
    base = sqlite_over(rows)
    base.execute("INSERT INTO settled " + query("settled"))
    with FleetTables(rows) as tables:
        tables.load()
        tables.settle([])
        given = {"separator": "\x1f"} if name == "chain" else {}
        ours = tables._run(query(name), **given)
    theirs = base.execute(query(name), given).fetchall()
    base.close()
    assert sorted(map(repr, ours)) == sorted(map(repr, theirs))
    assert bool(ours) == (name != "settled_results")


def test_the_kinds_of_row_that_the_queries_know_are_kinds_of_event() -> None:
    """A kind they do not know sends its session to the fold; so does one that moves readings."""
    known = set(query("not_followed").split("kind NOT IN (")[1].split(")")[0].replace("'", "").split())
    known = {word.strip(",") for word in known}
    assert known == set(KINDS)  # a new kind: does it change what settled.sql says, or the meter, or a point?
    assert {"reading", "void", "amend", "rework", "redo"} <= known


# --- many session.toml files read quickly -------------------------------------------------------------


def test_a_snapshot_met_before_gives_what_parsing_it_whole_gives(tmp_path: Path) -> None:
    make_fleet(tmp_path, 2, assets=2, surveys=3)
    reader = SnapshotReader()
    chance = Random(7)
    for path in sorted(tmp_path.rglob("session.toml")):
        data = path.read_bytes()
        assert reader.parse(data, "f") == parse_session(data, "f")
        for _ in range(15):
            at = chance.randrange(len(data))
            changed = data[:at] + bytes([chance.randrange(32, 127)]) + data[at + 1 :]
            try:
                whole = parse_session(changed, "f")
            except BadInputError as error:
                with pytest.raises(BadInputError) as caught:
                    reader.parse(changed, "f")
                assert caught.value.problems == error.problems
            else:
                assert reader.parse(changed, "f") == whole


def test_along_one_route_one_session_is_parsed_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    parsed: list[str] = []

    def count(data: bytes, file: str) -> Session:
        parsed.append(file)
        return parse_session(data, file)

    monkeypatch.setattr("fieldtui.files.session.snapshots.parse_session", count)
    make_fleet(tmp_path, 2, assets=3, surveys=4)
    demo = next((Path(__file__).parents[2] / "demo" / "sessions").glob("*slipway*/session.toml")).read_bytes()
    reader = SnapshotReader()
    for path in sorted(tmp_path.rglob("session.toml")):
        reader.parse(path.read_bytes(), "f")
    for job in (b"slipway check", b"another", b"a third"):
        reader.parse(demo.replace(b"slipway check", job), "demo")
    assert (parsed.count("f"), parsed.count("demo")) == (3, 1)


@pytest.mark.parametrize("cautions", [(), CAUTIONS])
def test_with_and_without_cautions_it_is_the_same(tmp_path: Path, cautions: tuple[Caution, ...]) -> None:
    route, start = route_file("r", "a", 4), datetime(2026, 1, 1, tzinfo=UTC)
    walk = walk_route(route, METER, start, Random(1), Chances(), 0)
    reader = SnapshotReader()
    for name in ("one", "two"):
        folder = tmp_path / name
        write_session(folder, route, walk, METER, start, name=name, cautions=cautions)
        data = (folder / "session.toml").read_bytes()
        assert reader.parse(data, "f") == parse_session(data, "f")
        with_none = data.replace(b"chain = ", b"cautions = []\nchain = ", 1)
        if cautions:
            with pytest.raises(BadInputError):
                reader.parse(with_none, "f")


def test_a_text_of_several_lines_does_not_hide_where_a_session_s_own_part_ends(tmp_path: Path) -> None:
    make_fleet(tmp_path, 2, assets=1, surveys=2)
    reader = SnapshotReader()
    for path in sorted(tmp_path.rglob("session.toml")):
        text = path.read_text(encoding="utf-8")
        hidden = text.replace("[crew]", "crew.prober = '''\n[instrument]\n'''\n[other]").encode()
        reader.parse(text.encode(), "f")
        with pytest.raises(BadInputError):
            reader.parse(hidden, "f")


def test_an_amended_time_or_session_does_not_leak_between_sessions(tmp_path: Path) -> None:
    first, second = make_fleet(tmp_path, 2, assets=1, surveys=2)
    reader = SnapshotReader()
    one = reader.parse((first / "session.toml").read_bytes(), "f")
    two = reader.parse((second / "session.toml").read_bytes(), "f")
    assert one.id != two.id
    assert replace(two, id=one.id, started=one.started, first_link=one.first_link) == one
    assert parse_time("2020-01-05T08:00:00.000Z") == one.started


def test_the_engine_is_loaded_only_when_it_is_asked() -> None:
    code = "import sys, fieldtui.cli, fieldtui.desk.fleet, fieldtui.ui.app; sys.exit('duckdb' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
