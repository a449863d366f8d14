"""A results.csv without its trail: what its own cells contradict is found, and nothing else."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Comparator, Limit, Point, Rule
from fieldtui.desk.fleet import follow_fleet
from fieldtui.desk.reading import read_session
from fieldtui.desk.results_alone import why_it_contradicts_itself
from fieldtui.files.disk import Disk
from fieldtui.report.between.fleet_json import fleet_as_json
from fieldtui.report.between.fleet_text import format_fleet
from fieldtui.report.results_csv import format_results
from tests.desk.fleet_maker import make_fleet
from tests.ui.review_fixtures import METER, Story, mohm, route_of

STATED = replace(METER, accuracy=Accuracy(Decimal("0.5"), mohm("0.02"), mohm("0.01"), Decimal(2)))
EDGES = ("2.462", "2.4625", "2.4633", "2.43", "2.50", "2.3692", "2.9")


def results(celsius: str = "", rule: Rule = "mean") -> str:
    """Points held a hair beside what they read, by every decision rule, after rework too."""
    points = [
        Point(
            id=f"P-{kind.value}-{edge}-{sign.value}",
            section="SW",
            title="=Strap",
            unit=Unit.MOHM,
            limit=Limit(mohm(edge), upper=sign, rule=DecisionRule(kind)),
            retest=Limit(mohm("3.0")),
            repeats=3,
            rule=rule,
            correct_to_20=bool(celsius),
        )
        for kind in RuleKind
        for edge in EDGES
        for sign in (Comparator.LESS, Comparator.AT_MOST)
    ]
    route = route_of(*points)
    story = Story(route.at_temperature(Decimal(celsius)) if celsius else route, STATED)
    for point in points:
        for value in ("2.46", "2.46", "2.47"):
            story.read(point.id, value)
    return format_results(story.session()).decode()


@pytest.mark.parametrize("celsius", ["", "8.8", "-12", "30"])
@pytest.mark.parametrize("rule", ["mean", "max", "median"])
def test_what_the_program_wrote_contradicts_nothing(celsius: str, rule: Rule) -> None:
    text = results(celsius, rule)
    assert {"pass", "fail"} <= {row["verdict"] for row in csv.DictReader(io.StringIO(text))}
    assert why_it_contradicts_itself(text) == ""


@pytest.mark.parametrize("seed", range(3))
def test_nor_do_whole_surveys_with_rework_and_voids(tmp_path: Path, seed: int) -> None:
    for folder in make_fleet(tmp_path, seed, assets=2, surveys=3, is_repeated=True):
        assert why_it_contradicts_itself(format_results(read_session(Disk(), folder)).decode()) == ""


def edited(**cells: str) -> str:
    """A survey of one point at 1.60 against <= 2.5 with some cells keyed over."""
    point = Point("P1", "SW", "Strap", Unit.MOHM, Limit(mohm("2.5")))
    text = format_results(Story(route_of(point)).read("P1", "1.60").session()).decode()
    (row,) = rows = list(csv.DictReader(io.StringIO(text)))
    row.update(cells)
    for column in [name for name, cell in row.items() if cell == "GONE"]:
        del row[column]  # as in an older file
    told = io.StringIO()
    writer = csv.DictWriter(told, list(row))
    writer.writeheader()
    writer.writerows(rows)
    return told.getvalue()


@pytest.mark.parametrize(
    "cells",
    [
        {"as_left": "16.0"},  # the value, and not the one that was judged
        {"as_left": "16.0", "judged": "16.0"},  # both, and not the verdict
        {"verdict": "fail"},
        {"verdict": "fine"},
        {"limit": "<= 1.5 mohm"},
        {"decision": "guarded", "judged_u": "0.95", "guard": "1"},  # 2.5 less 0.95 is below 1.60
        {"as_left": "16.0", "judged": "16.0", "judged_u": "GONE"},
    ],
)
def test_an_edited_cell_shows(cells: dict[str, str]) -> None:
    assert why_it_contradicts_itself(edited(**cells)).startswith(
        "1 row of its results.csv cannot be as written"
    )
    assert ": P1; put its trail.csv beside it" in why_it_contradicts_itself(edited(**cells))


@pytest.mark.parametrize(
    "cells",
    [
        {},
        {"title": "=1+1"},
        # 2.39 at 8.8 C is 2.500042: an older file rounded it on to its limit
        {"as_left": "2.39", "judged": "2.5000", "celsius": "8.8", "verdict": "fail", "judged_u": "GONE"},
        {
            "as_left": "2.462",
            "judged": "2.462",
            "limit": "<= 2.462 mohm",
            "verdict": "fail",
            "judged_u": "GONE",
        },
        {"decision": "GONE", "verdict": "fail"},  # nothing says by which rule
        {"decision": "guarded", "judged_u": "GONE", "verdict": "fail"},  # nor how sure it was
        {"judged": "GONE"},
        {"unit": "furlong"},
        {"limit": "a lot"},
        {"judged": "x"},
    ],
)
def test_what_cannot_be_said_is_not_said(cells: dict[str, str]) -> None:
    assert why_it_contradicts_itself(edited(**cells)) == ""


def test_such_a_file_is_left_out_of_a_fleet_and_a_sound_one_is_marked(tmp_path: Path) -> None:
    for folder in make_fleet(tmp_path, 8, assets=1, surveys=3)[:2]:
        (folder / "results.csv").write_bytes(format_results(read_session(Disk(), folder)))
        for name in ("session.toml", "trail.csv"):
            (folder / name).unlink()
    alone = sorted(path.parent for path in tmp_path.rglob("results.csv"))
    sound = follow_fleet(Disk(), [tmp_path])
    note = f"{alone[0].name} is a results.csv alone: no chain proves it"
    assert note in " ".join(format_fleet(sound, 5).split())
    (route,) = fleet_as_json(sound, 5)["routes"]  # type: ignore[misc]
    told = {each["session"]: (each["trail"], each["intact"]) for each in route["sessions"]}
    assert [told[folder.name] for folder in alone] == [(False, False)] * 2
    assert list(told.values()).count((True, True)) == 1
    path = alone[0] / "results.csv"
    path.write_text(
        path.read_text(encoding="utf-8").replace(",pass,passed,", ",fail,failed,", 1), encoding="utf-8"
    )
    fleet = follow_fleet(Disk(), [tmp_path])
    assert fleet.sessions == 2
    (why,) = fleet.left_out
    assert alone[0].name in why and "cannot be as written" in why
