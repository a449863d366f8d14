"""Two laptops on one route: each walks a part of it, and one view puts them together."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fieldtui.cli import main
from fieldtui.core.plan.session import Crew
from fieldtui.core.survey.brief import Brief
from fieldtui.desk.opening import begin_session
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.verifying import Paper, verify_session
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import BadInputError
from fieldtui.files.disk import Disk
from fieldtui.files.route.file import RouteFile
from tests.desk.scenes import METER, QuickDisk, SetClock

ROUTE = """\
format = 1
title = "Wing bonds"
asset = "amphibious twin ZX-41"
revision = "B"
source = "invented for the test"
unit = "mohm"
check_every = 0
[defaults]
limit = { max = 2.5, cmp = "<" }
[[sections]]
id = "SW"
title = "Starboard wing"
[[sections]]
id = "PW"
title = "Port wing"
[[sections]]
id = "HU"
title = "Hull"
[[points]]
id = "SW-01"
section = "SW"
title = "Flap jumper"
pair = "PW-01"
[[points]]
id = "SW-02"
section = "SW"
title = "Tank vent"
[[points]]
id = "PW-01"
section = "PW"
title = "Flap jumper"
pair = "SW-01"
[[points]]
id = "PW-02"
section = "PW"
title = "Tank vent"
[[points]]
id = "HU-01"
section = "HU"
title = "Keel plate"
[[paths]]
id = "ALL"
title = "wing to wing"
points = ["SW-01", "PW-01"]
limit = { max = 5.0, cmp = "<=" }
[[paths]]
id = "SW"
title = "along the starboard wing"
points = ["SW-01", "SW-02"]
limit = { max = 5.0, cmp = "<=" }
"""


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("routes", "sessions"):
        (tmp_path / name).mkdir()
    (tmp_path / "routes" / "wing.toml").write_text(ROUTE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


class Laptop:
    """One crew's machine: its own folder of sessions, the same route."""

    def __init__(self, here: Path, name: str) -> None:
        self.workspace = Workspace(here, QuickDisk(), here / "sessions" / name)

    def walk(self, sections: str, *values: str, first_number: int = 1) -> Desk:
        route = self.workspace.load_part("wing", sections.split(","))
        return self.begin(route, *values, first_number=first_number)

    def begin(self, route: RouteFile, *values: str, first_number: int = 1) -> Desk:
        brief = Brief(
            job="WO-1",
            crew=Crew(prober="Ben", recorder="Ana"),
            instrument=METER,
            next_number=first_number,
            standard=METER.check_standard.value if METER.check_standard is not None else None,
        )
        with begin_session(self.workspace, route, brief, SetClock()) as desk:
            for value in values:
                desk.record(desk.weigh(value))
        return desk


def said(capsys: pytest.CaptureFixture[str], *words: Any) -> tuple[int, str]:
    capsys.readouterr()
    code = main([str(word) for word in words])
    captured = capsys.readouterr()
    return code, captured.out + captured.err


def test_a_part_is_whole_once_its_own_points_are_settled(here: Path) -> None:
    desk = Laptop(here, "one").walk("SW", "1.10", "1.20")
    session = read_session(Disk(), desk.folder)
    assert (session.survey.settled, len(session.survey.points), session.survey.here) == (2, 2, None)
    assert session.facts.route.title == "Wing bonds (part: SW)"
    assert session.facts.part == ("SW",)
    assert dict(session.facts.elsewhere) == {
        "PW-01": "Flap jumper", "PW-02": "Tank vent", "HU-01": "Keel plate",
    }  # fmt: skip
    assert [path.id for path in session.facts.route.paths] == ["SW"]  # the other leads out of the part
    assert session.facts.route.points[0].pair == ""
    assert verify_session(Disk(), desk.folder, Paper()).ok


def test_a_whole_route_named_section_by_section_is_no_part(here: Path) -> None:
    route = Laptop(here, "one").workspace.load_part("wing", ["PW", "SW", " HU", "SW"])
    assert route.part == () and route.route.title == "Wing bonds" and len(route.route.points) == 5


@pytest.mark.parametrize(
    ("sections", "what"),
    [("XX", 'no section "XX"'), ("SW,,XX", 'no section "XX"'), (" , ", "No section is named")],
)
def test_a_section_that_is_not_there_is_told_with_those_that_are(
    sections: str, what: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = said(capsys, "walk", "wing", "--sections", sections)
    assert code == 2
    assert what in out and "its sections are: SW, PW, HU" in out
    with pytest.raises(BadInputError):
        Laptop(here, "one").workspace.load_part("wing", sections.split(","))


def test_a_part_is_loaded_before_the_terminal_is_asked_for(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = said(capsys, "walk", "wing", "--sections", "SW,HU")
    assert code == 2 and "terminal" in out  # the tests have none


def test_both_crews_together_cover_the_route(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one = Laptop(here, "one").walk("SW", "1.10", "1.20")
    two = Laptop(here, "two").walk(
        "PW,HU", "1.30", "1.40", "1.50", first_number=5
    )  # the same meter, later on
    code, out = said(capsys, "compare", "--merge", one.folder, two.folder)
    assert code == 0, out
    assert "Conflicts: none" in out and "Not settled: none" in out
    assert "In no session's part" not in out
    assert out.endswith("5 points: 5 passed\n")
    assert one.session.id != two.session.id  # both began on one day


def test_what_nobody_took_is_told(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one = Laptop(here, "one").walk("SW", "1.10", "1.20")
    two = Laptop(here, "two").walk("PW", "1.30", "1.40")
    code, out = said(capsys, "compare", "--merge", one.folder, two.folder)
    assert code == 1
    assert "In no session's part: 1" in out and "HU-01  Keel plate" in out
    code, out = said(capsys, "compare", "--merge", one.folder, two.folder, "--json")
    assert code == 1 and '"unclaimed"' in out and '"HU-01"' in out


def test_a_point_that_both_took_is_a_conflict(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one = Laptop(here, "one").walk("SW,PW", "1.10", "1.20", "1.30", "1.40")
    two = Laptop(here, "two").walk("PW,HU", "2.90", "1.40", "1.50")
    code, out = said(capsys, "compare", "--merge", one.folder, two.folder)
    assert code == 1
    assert "Conflicts: 2" in out
    assert "PW-01  Flap jumper  settled differently" in out
    assert "PW-02  Tank vent  settled more than once" in out


def test_two_laptops_that_gave_one_id_are_told_apart(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without a part stated both begin ``…_wing_01``; a copy of one session is still refused."""
    one, two = Laptop(here, "one"), Laptop(here, "two")
    first = one.begin(one.workspace.load_route("wing"), "1.10", "1.20")
    clock = SetClock()
    clock.tick(60)
    route = two.workspace.load_route("wing")
    brief = Brief(
        job="WO-1",
        crew=Crew(prober="Cleo", recorder="Dan"),
        instrument=METER,
        next_number=1,
        standard=METER.check_standard.value if METER.check_standard is not None else None,
    )
    with begin_session(two.workspace, route, brief, clock) as desk:
        for point, value in (("PW-01", "1.30"), ("PW-02", "1.40"), ("HU-01", "1.50")):
            desk.jump(point)
            desk.record(desk.weigh(value))
    assert first.session.id == desk.session.id
    code, out = said(capsys, "compare", "--merge", first.folder, desk.folder)
    assert code == 0, out
    assert f"{first.session.id} in one" in " ".join(out.split())
    assert f"{first.session.id} in two" in " ".join(out.split())
    assert out.endswith("5 points: 5 passed\n")


def test_points_left_to_another_crew_are_not_missing(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    laptop = Laptop(here, "one")
    old = laptop.begin(laptop.workspace.load_route("wing"), "1.10", "1.20", "1.30", "1.40", "1.50")
    new = Laptop(here, "two").walk("SW", "1.10", "1.20")
    code, out = said(capsys, "compare", old.folder, new.folder)
    assert code == 0, out
    words = " ".join(out.split())
    assert "is part of the route: SW; 3 of its points were left to another session" in words
    assert "issing: " not in words


def test_the_reports_say_that_it_is_a_part(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    desk = Laptop(here, "one").walk("SW", "1.10", "1.20")
    code, out = said(capsys, "report", desk.folder)
    assert code == 0
    assert "sections SW; 3 points left to another session" in " ".join(out.split())
    assert "Points not settled: none" in out


def test_next_time_both_parts_are_what_was_read_last(here: Path) -> None:
    laptop = Laptop(here, "one")
    laptop.walk("SW", "1.10", "1.20")
    laptop.walk("PW,HU", "1.30", "1.40", "1.50")
    history = laptop.workspace.history("wing", "2027")
    assert {point: str(result.value.digits) for point, result in history.previous.items()} == {
        "SW-01": "1.10", "SW-02": "1.20", "PW-01": "1.30", "PW-02": "1.40", "HU-01": "1.50",
    }  # fmt: skip
