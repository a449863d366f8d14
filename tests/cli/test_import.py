"""``fieldtui route import`` and ``route export``: a spreadsheet becomes a route, a route a list, and back."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

from fieldtui.cli.importing import FIELD_NAMES
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.files.route.columns import FIELDS

ROOT = Path(__file__).resolve().parents[2]
ROUTES = sorted([*(ROOT / "routes").glob("*.toml"), *(ROOT / "demo" / "routes").glob("*.toml")])
LIST = (
    "\ufeffBond no;Description;Zone;Reference stud;Max. [mΩ];Remark\r\n"
    "SW 07;Flap track jumper;wing;rear spar;2,5;worn\r\n"
    "SW 08;Tip light;wing;stud G4;3,0;\r\n"
)


@pytest.fixture
def points(tmp_path: Path) -> Path:
    (tmp_path / "points.csv").write_text(LIST, encoding="utf-8", newline="")
    return tmp_path / "points.csv"


def test_a_list_becomes_a_route_and_the_guess_is_shown(ask: Any, points: Path) -> None:
    (points.parent / "routes").mkdir()
    answer = ask("route", "import", "points.csv", "--asset", "test rig", "--title", "Wing")
    assert (answer.code, answer.err) == (0, "")
    assert answer.out.splitlines() == [
        "column          taken as  why          for example",
        "Bond no         id        by its name  SW 07",
        "Description     title     by its name  Flap track jumper",
        "Zone            section   by its name  wing",
        "Reference stud  b         by its name  rear spar",
        "Max. [mΩ]       max       by its name  2,5",
        "Remark          -         not taken    worn",
        "note: brought into the form that ids have: SW 07 is SW-07, SW 08 is SW-08",
        "note: limits without a comparator, taken as at most (<=): 2",
        "note: the unit of the route is mohm",
        f"wrote {points.parent / 'routes' / 'points.toml'}: 2 points",
        "it passes the check with 0 warnings",
    ]
    assert ask("route", "check", "points").code == 0
    route = Workspace(points.parent, Disk()).load_route("points").route
    assert (route.title, route.asset, route.source) == ("Wing", "test rig", "imported from points.csv")
    assert [(point.id, point.b, str(point.limit)) for point in route.points] == [
        ("SW-07", "rear spar", "<= 2.5 mΩ"), ("SW-08", "stud G4", "<= 3.0 mΩ"),
    ]  # fmt: skip


def test_what_is_still_missing_is_said(ask: Any, points: Path) -> None:
    points.write_text("No,Title,Limit\n1,Jumper,< 2.5 mohm\n2,Light,\n2,Again,< 3 mohm\n", encoding="utf-8")
    answer = ask("route", "import", "points.csv", "--out", "wing.toml", "--json")
    assert answer.code == 1
    assert answer.json["ok"] is False
    assert (answer.json["file"], answer.json["points"]) == ("wing.toml", 3)
    places = [(each["file"], each["line"], each["field"], each["what"]) for each in answer.json["problems"]]
    assert ("points.csv", 3, "limit", "the point has no limit") in places
    assert any(place[:3] == ("points.csv", 4, "id") for place in places)
    assert any(place[0] == "wing.toml" and "asset" in place[3] for place in places)
    assert ask("route", "check", "wing.toml").code == 1
    given = ("--criterion", "equipment-frame", "--asset", "rig", "--force")
    answer = ask("route", "import", "points.csv", "--out", "wing.toml", "--json", *given)
    assert [each["what"] for each in answer.json["problems"]] == [
        each["what"] for each in answer.json["problems"] if "2" in each["what"]
    ]  # only the id that stands twice is left
    assert len(answer.json["problems"]) == 1


def test_bad_lines_are_told_together_and_nothing_is_written(ask: Any, points: Path) -> None:
    points.write_text(
        'No,Title,Limit\n1,\x1b[2Jx,< 2 mohm\n2,"open,< 2 mohm\n3,ok,tbd\n4,ok,< 5 MOHM\n', encoding="utf-8"
    )
    answer = ask("route", "import", "points.csv", "--asset", "rig")
    assert answer.code == 2
    for place in ("points.csv:2, Title", "points.csv:3", "points.csv:4, Limit", "points.csv:5, Limit"):
        assert f"{place}: error" in answer.out
    assert answer.out.endswith("nothing was written: 4 problems\n")
    assert "milliohm or megohm" in answer.out
    assert sorted(path.name for path in points.parent.iterdir()) == ["points.csv"]


def test_a_limit_that_cannot_be_understood_is_told_by_line_and_no_route_is_written(
    ask: Any, points: Path
) -> None:
    points.write_text(
        'No,Description,Resistance limit\nP1,one,"<0,5 Ohm"\n'
        "P2,two,10 mOhm\nP2,three,MOHM 10\nP4,four,>= 1 MOhm\n",
        encoding="utf-8",
    )
    answer = ask("route", "import", "points.csv", "--asset", "rig", "--unit", "mohm", "--json")
    assert (answer.code, answer.json["file"]) == (2, None)
    assert [(each["line"], each["field"], each["what"]) for each in answer.json["problems"]] == [
        (2, "Resistance limit", "0,5: use a point for decimals"),
        (4, "Resistance limit", "'MOHM' may be milliohm or megohm"),
        (4, "id", 'point id "P2" is already used in line 3'),
    ]
    assert not list(points.parent.glob("*.toml"))
    text = points.read_text(encoding="utf-8").replace('"<0,5 Ohm"', "<0.5 Ohm").replace("MOHM 10", "10 mOhm")
    points.write_text(text, encoding="utf-8")
    answer = ask("route", "import", "points.csv", "--asset", "rig", "--unit", "mohm", "--json")
    assert answer.code == 1  # it was free to be written
    assert [(each["file"], each["line"], each["what"]) for each in answer.json["problems"]] == [
        ("points.csv", 4, 'point id "P2" is already used in line 3')
    ]


def test_the_crew_is_asked_for_the_unit_that_the_limit_is_in(ask: Any, points: Path) -> None:
    points.write_text("No,Title,Limit\n1,Static,< 10 kohm\n2,Bond,< 2.5 mohm\n", encoding="utf-8")
    assert ask("route", "import", "points.csv", "--asset", "rig", "--unit", "mohm").code == 0
    assert ask("route", "sheet", "points.toml").code == 0
    sheet = (points.parent / "sheets" / "points-sheet.txt").read_text(encoding="utf-8")
    assert sheet.count("] kΩ") == sheet.count("] mΩ") == 1
    rows = (points.parent / "sheets" / "points-sheet.csv").read_text(encoding="utf-8").splitlines()
    assert [row.split(",")[4] for row in rows[1:]] == ["kohm", "mohm"]


def test_an_empty_list_is_told_with_what_to_write(ask: Any, points: Path) -> None:
    points.write_bytes(b"")
    answer = ask("route", "import", "points.csv")
    assert answer.code == 2
    assert "the file is empty\n    begin with a line that names the columns\n" in answer.out


def test_help_names_the_fields_that_can_be_mapped(ask: Any) -> None:
    assert tuple(FIELDS) == FIELD_NAMES
    text = " ".join(ask("route", "import", "--help").out.split())
    assert f"OURS is one of: {', '.join(FIELDS)}." in text


def test_a_wrong_mapping_is_told_also_where_the_route_is_there(ask: Any, points: Path) -> None:
    (points.parent / "points.toml").write_text("mine", encoding="utf-8")
    answer = ask("route", "import", "points.csv", "--map", "tilte=Remark")
    assert answer.code == 2
    assert "--force" in answer.err
    assert "'tilte' is nothing a point has" in answer.err
    assert "did you mean 'title'?" in answer.err
    assert (points.parent / "points.toml").read_text(encoding="utf-8") == "mine"


def test_a_mapping_can_be_said_and_is_checked(ask: Any, points: Path) -> None:
    answer = ask("route", "import", "points.csv", "--map", "where=Zone,section=", "--asset", "rig", "--json")
    assert answer.code == 0
    found = {each["column"]: (each["field"], each["why"], each["example"]) for each in answer.json["mapping"]}
    assert found["Zone"] == ("where", "given", "wing")
    assert answer.json["not_taken"] == ["Remark"]
    answer = ask("route", "import", "points.csv", "--map", "tilte=Remark", "--map", "a=Remarks", "--force")
    assert answer.code == 2
    assert "did you mean 'title'?" in answer.out
    assert "did you mean 'Remark'?" in answer.out


def test_a_route_that_is_there_is_never_replaced_unasked(ask: Any, points: Path) -> None:
    (points.parent / "points.toml").write_text("mine", encoding="utf-8")
    answer = ask("route", "import", "points.csv")
    assert (answer.code, answer.out) == (2, "")
    assert "--force" in answer.err
    assert (points.parent / "points.toml").read_text(encoding="utf-8") == "mine"
    assert ask("route", "import", "points.csv", "--asset", "rig", "--force").code == 0


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        (["--out", "wing.txt"], "does not end in .toml"),
        (["--out", "a b.toml"], "space"),
        (["--out", "nul.toml"], "device"),
        (["--out", "no/where/wing.toml"], "does not exist"),
        (["--unit", "MOHM"], "milliohm or megohm"),
        (["--unit", "volt"], "uohm, mohm"),
        (["--title", "\x1b[2J"], "not allowed"),
    ],
)
def test_wrong_use_is_answered_in_words(ask: Any, points: Path, extra: list[str], said: str) -> None:
    answer = ask("route", "import", "points.csv", *extra)
    assert answer.code in (1, 2)
    assert said in answer.err
    assert not list(points.parent.rglob("*.toml"))


@pytest.mark.parametrize("name", ["missing.csv", ".", "/dev/null", "a\x1bb", "x" * 300])
def test_what_is_no_file_is_told(ask: Any, name: str) -> None:
    answer = ask("route", "import", name)
    assert answer.code == 2
    assert answer.err or "nothing was written" in answer.out


@pytest.mark.parametrize("path", ROUTES, ids=lambda path: path.stem)
def test_an_exported_route_comes_back_the_same(ask: Any, tmp_path: Path, path: Path) -> None:
    (tmp_path / "shared").symlink_to(ROOT / "shared")
    exported = ask("route", "export", str(path), "--out", "list.csv")
    assert (exported.code, exported.out) == (0, "wrote list.csv\n")
    shown = ask("route", "export", str(path)).out
    assert shown == (tmp_path / "list.csv").read_text(encoding="utf-8")
    assert ask("route", "export", str(path), "--out", "list.csv").code == 2  # never replaced unasked
    workspace = Workspace(tmp_path, Disk())
    before = workspace.load_route(str(path)).route
    answer = ask(
        "route", "import", "list.csv", "--asset", before.asset, "--unit", before.unit.value, "--json"
    )
    assert (answer.code, answer.json["not_taken"]) == (0, [])
    after = workspace.load_route("list.toml").route
    assert after.points == before.points
    assert after.sections == before.sections


def test_a_results_table_is_a_list_too(ask: Any, tmp_path: Path) -> None:
    from tests.desk.scenes import Scene, record

    with Scene(tmp_path).begin() as desk:
        record(desk, "1.380", "9.9")
    assert ask("report", str(desk.folder), "--out", "paper").code == 0
    answer = ask("route", "import", "paper/results.csv", "--asset", "rig", "--out", "again.toml", "--json")
    assert answer.code == 0
    before = Workspace(tmp_path, Disk()).load_route("wing").route
    after = Workspace(tmp_path, Disk()).load_route("again.toml").route
    assert [(point.id, point.title, point.unit, point.limit) for point in after.points] == [
        (point.id, point.title, point.unit, point.limit) for point in before.points
    ]


@pytest.mark.skipif(sys.platform == "win32", reason="a read-only folder is another thing there")
def test_a_medium_that_refuses_is_told(ask: Any, points: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(self: Disk, path: Path, data: bytes) -> None:
        raise OSError(28, "no space")

    monkeypatch.setattr(Disk, "write_whole", refuse)
    answer = ask("route", "import", "points.csv", "--asset", "rig")
    assert answer.code == 2
    assert "the disk is full" in answer.err


# --- what could mean two things -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "places"),
    [
        (
            "id,title,max,unit\nP1,a,2.5,mohm\nP2,b,2.5,\nP3,c,2,ohm\nP4,d,3,\n",
            ["points.csv:3, max", "points.csv:5, max"],
        ),
        (
            "Punkt;Grenzwert [mΩ]\nP1;2,5\nP2;1.250\nP3;1.000,5\n",
            ["points.csv:3, Grenzwert [mΩ]", "points.csv:4, Grenzwert [mΩ]"],
        ),
        ("id,cmp,limit\n1,<,<= 2 mohm\n2,>=,2 mohm max\n", ["points.csv:2, limit", "points.csv:3, limit"]),
        ("Bonding survey,,\n,,\nid,title,limit\n1,a,2 mohm\n", ["points.csv:1"]),
    ],
    ids=["units", "thousands", "comparators", "a title above"],
)
def test_lines_that_could_mean_two_things_are_told_together_and_nothing_is_written(
    ask: Any, points: Path, text: str, places: list[str]
) -> None:
    points.write_text(text, encoding="utf-8")
    answer = ask("route", "import", "points.csv", "--asset", "rig")
    assert answer.code == 2
    told = [line.partition(": error")[0] for line in answer.out.splitlines() if ": error: " in line]
    assert told == places
    assert not list(points.parent.rglob("*.toml"))


def test_columns_that_could_each_be_the_limit_are_asked_about_and_nothing_is_written(
    ask: Any, points: Path
) -> None:
    points.write_text(
        "Point;Text;Widerstand;Vorgabe\n1;strap;0,8 mOhm;2,5 mOhm\n2;strap;0,9 mOhm;2,5 mOhm\n",
        encoding="utf-8",
    )
    answer = ask("route", "import", "points.csv", "--asset", "rig")
    assert answer.code == 2
    assert "the columns 'Widerstand' and 'Vorgabe' could each be limit" in answer.out
    assert "the point has no limit" not in answer.out
    assert "note:" not in answer.out
    assert not list(points.parent.glob("*.toml"))
    answer = ask("route", "import", "points.csv", "--asset", "rig", "--map", "limit=Vorgabe")
    assert answer.code == 0
    route = Workspace(points.parent, Disk()).load_route("points.toml").route
    assert [str(point.limit) for point in route.points] == ["<= 2.5 mΩ", "<= 2.5 mΩ"]


@pytest.mark.parametrize("encoding", ["latin-1", "utf-16-le"])
def test_a_file_that_is_no_utf_8_is_told_as_that_alone(ask: Any, points: Path, encoding: str) -> None:
    points.write_bytes("id,title,limit\nP1,Flügel,2.5 mohm\n".encode(encoding))
    answer = ask("route", "import", "points.csv", "--asset", "rig", "--map", "id=id")
    assert answer.code == 2
    assert answer.out.startswith("points.csv:")
    assert "no column holds" not in answer.out
    assert answer.out.endswith("nothing was written: 1 problem\n")


def test_a_criterion_that_is_not_in_the_table_is_refused_and_one_that_judges_nothing_is_told(
    ask: Any, points: Path
) -> None:
    (points.parent / "shared").symlink_to(ROOT / "shared")
    answer = ask("route", "import", "points.csv", "--asset", "rig", "--criterion", "nosuch")
    assert answer.code == 2
    assert "There is no criterion nosuch" in answer.err
    assert "equipment-frame" in answer.err
    assert not list(points.parent.glob("*.toml"))
    answer = ask("route", "import", "points.csv", "--asset", "rig", "--criterion", "equipment-frame")
    assert answer.code == 0
    assert "note: lines without a limit, judged by equipment-frame (--criterion): 0\n" in answer.out
    points.write_text("id,title,limit\nP1,a,2 mohm\nP2,b,\n", encoding="utf-8")
    answer = ask(
        "route", "import", "points.csv", "--asset", "rig", "--criterion", "equipment-frame", "--force"
    )
    assert answer.code == 0
    assert "note: lines without a limit, judged by equipment-frame (--criterion): 1\n" in answer.out


EXPORTED = """
format = 1
title = "Wing"
asset = "twin"
revision = "C"
source = "drawing 7"
unit = "mohm"
check_every = 4
standard_every = 50
decision = "guarded"
guard = 0.5
[[sections]]
id = "B"
title = "Second"
[[sections]]
id = "A"
title = "First"
[[sections]]
id = "E"
title = "Empty"
[[points]]
id = "P1"
section = "A"
title = "One"
limit = { max = 2 }
retest = { max = 1.5, decision = "simple" }
[[points]]
id = "P2"
section = "B"
title = "Two"
limit = { max = 2 }
[[paths]]
id = "CH"
title = "Chain"
points = ["P1", "P2"]
limit = { max = 3 }
"""


def test_an_export_says_what_of_the_route_is_not_in_the_list(ask: Any, tmp_path: Path) -> None:
    (tmp_path / "wing.toml").write_text(EXPORTED, encoding="utf-8")
    for out in (["--out", "list.csv"], []):
        answer = ask("route", "export", "wing.toml", *out)
        assert answer.code == 0
        assert answer.err.splitlines() == [
            "not in the list, and to be given or written again after route import:",
            "  title (Wing)",
            "  asset (twin)",
            "  revision (C)",
            "  source (drawing 7)",
            "  unit of the route (mohm)",
            "  check_every = 4",
            "  standard_every = 50",
            "  the decision rule of unplanned points (guard band 0.5 U)",
            "  path CH: Chain, <= 3 mΩ, guard band 0.5 U",
            "  section E, which has no points",
            "  the order of the sections, where it is not that of the walk",
            "  the decision rule after rework of P1 (simple acceptance)",
        ]
    lines = EXPORTED.splitlines()
    plain = "\n".join(line for line in lines[: lines.index("[[paths]]")] if "every" not in line)
    for old, new in (
        ('decision = "guarded"\nguard = 0.5\n', ""), (', decision = "simple"', ""), ('revision = "C"\n', ""),
        ('[[sections]]\nid = "E"\ntitle = "Empty"\n', ""),
        ('[[sections]]\nid = "B"\ntitle = "Second"\n', ""),
        ('section = "B"', 'section = "A"'),
    ):  # fmt: skip
        assert old in plain
        plain = plain.replace(old, new)
    (tmp_path / "wing.toml").write_text(plain, encoding="utf-8")
    assert [line.strip() for line in ask("route", "export", "wing.toml").err.splitlines()[1:]] == [
        "title (Wing)", "asset (twin)", "source (drawing 7)", "unit of the route (mohm)",
    ]  # fmt: skip


@pytest.mark.parametrize("path", ROUTES, ids=lambda path: path.stem)
def test_what_an_export_does_not_name_comes_back(ask: Any, tmp_path: Path, path: Path) -> None:
    """Whatever differs in the route read again is named on export."""
    (tmp_path / "shared").symlink_to(ROOT / "shared")
    told = ask("route", "export", str(path), "--out", "list.csv").err
    before = Workspace(tmp_path, Disk()).load_route(str(path)).route
    assert ask("route", "import", "list.csv", "--asset", "other", "--title", "other").code == 0
    after = Workspace(tmp_path, Disk()).load_route("list.toml").route
    for name, word in (
        ("title", "title ("), ("asset", "asset ("), ("revision", "revision ("), ("source", "source ("),
        ("unit", "unit of the route ("), ("check_every", "check_every ="),
        ("standard_every", "standard_every ="),
        ("paths", "  path "), ("rule", "the decision rule of unplanned"), ("sections", "section"),
        ("points", "after rework"),
    ):  # fmt: skip
        assert getattr(before, name) == getattr(after, name) or word in told, name
