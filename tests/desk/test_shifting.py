"""Readings moved along the walk: those whose point was named to the prober stay where they are."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldtui.core.trail import events as ev
from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.errors import WrongUseError
from fieldtui.files.disk import Disk
from tests.desk.scenes import Scene, record

ROUTE = """\
format = 1
title = "Starboard wing bonds"
asset = "amphibious twin ZX-41"
source = "invented for the test"
unit = "mohm"

[[sections]]
id = "SW"
title = "Starboard wing"
""" + "".join(
    f'\n[[points]]\nid = "SW-{n:02}"\nsection = "SW"\ntitle = "Strap {n}"\nlimit = {{ max = 2.5 }}\n'
    for n in range(1, 11)
)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    scene = Scene(tmp_path)
    (tmp_path / "routes" / "wing.toml").write_text(ROUTE, encoding="utf-8")
    return scene.begin()


def points(desk: Desk) -> list[str]:
    return [each.point for each in desk.survey.records.values()]


def found_and_left(desk: Desk, point: str) -> tuple[int, int]:
    """The records that are the point's first and last complete takes."""
    standing = desk.survey.standings[point]
    assert standing.as_found is not None and standing.as_left is not None
    return standing.as_found.last.record, standing.as_left.last.record


def test_every_reading_in_a_row_moves(desk: Desk) -> None:
    record(desk, "1.1", "1.2", "1.3", "1.4")
    desk.shift_points(2, 1, "one point passed over")
    assert points(desk) == ["SW-01", "SW-03", "SW-04", "SW-05"]
    assert desk.survey.here is not None and desk.survey.here.id == "SW-06"


def test_a_point_that_was_named_to_the_prober_stays(desk: Desk) -> None:
    record(desk, "1.1", "1.2", "1.3")
    desk.jump("SW-08", "access only now")
    record(desk, "1.8")  # record 4, out of turn
    record(desk, "1.4", "1.5")
    assert points(desk) == ["SW-01", "SW-02", "SW-03", "SW-08", "SW-04", "SW-05"]
    assert dict(desk.survey.out_of_turn) == {4: "SW-08"}
    tried = desk.try_shift(2, 1)
    desk.shift_points(2, 1, "one point passed over")
    assert points(desk) == ["SW-01", "SW-03", "SW-04", "SW-08", "SW-05", "SW-06"]
    assert tried.standings == desk.survey.standings
    assert desk.survey.problems == ()
    rows = [each for each in read_session(Disk(), desk.folder).events if isinstance(each, ev.ReadingsShifted)]
    assert [(each.ref, each.record, each.point) for each in rows] == [(5, 6, "SW-05"), (2, 3, "SW-03")]


def test_the_last_point_again_moves_with_the_others_and_an_earlier_one_does_not(desk: Desk) -> None:
    record(desk, "1.1", "1.2", "1.3")
    desk.redo("reading unsteady", 3)
    record(desk, "1.31")
    desk.redo("reading unsteady", 1)
    record(desk, "1.11")
    assert points(desk) == ["SW-01", "SW-02", "SW-03", "SW-03", "SW-01"]
    desk.shift_points(2, 1, "one point passed over")
    assert points(desk) == ["SW-01", "SW-03", "SW-04", "SW-04", "SW-01"]
    assert found_and_left(desk, "SW-03") == (2, 2)
    assert found_and_left(desk, "SW-04") == (3, 4)
    assert found_and_left(desk, "SW-01") == (1, 5)
    assert not any(each.asked_again for each in desk.survey.standings.values())


def test_a_retake_that_was_asked_for_and_not_taken_yet_goes_along(desk: Desk) -> None:
    record(desk, "1.1", "1.2", "1.3")
    desk.redo("reading unsteady")
    desk.shift_points(2, 1, "one point passed over")
    assert points(desk) == ["SW-01", "SW-03", "SW-04"]
    assert [point for point, each in desk.survey.standings.items() if each.asked_again] == ["SW-04"]


def test_a_point_measured_out_of_turn_is_passed_by_whoever_is_ahead(desk: Desk) -> None:
    record(desk, "1.1")
    desk.jump("SW-03", "access only now")
    record(desk, "1.8")
    desk.redo("reading unsteady", 2)  # and again, before the walk goes back
    record(desk, "1.81", "1.2", "1.4")
    assert points(desk) == ["SW-01", "SW-03", "SW-03", "SW-02", "SW-04"]
    desk.shift_points(4, 1, "one point passed over")
    assert points(desk) == ["SW-01", "SW-03", "SW-03", "SW-04", "SW-05"]


def test_an_unplanned_point_stays_and_none_is_moved_onto_it(desk: Desk) -> None:
    record(desk, "1.1", "1.2")
    desk.insert("Spare strap", "<= 2.5", "damage seen")  # X01, before SW-03
    record(desk, "0.9", "1.3", "1.4")
    assert points(desk) == ["SW-01", "SW-02", "X01", "SW-03", "SW-04"]
    desk.shift_points(2, 1, "one point passed over")
    assert points(desk) == ["SW-01", "SW-03", "X01", "SW-04", "SW-05"]
    assert desk.survey.problems == ()


def test_moved_back_they_stand_where_they_stood(desk: Desk) -> None:
    record(desk, "1.1", "1.2", "1.3")
    desk.jump("SW-08", "access only now")
    record(desk, "1.8", "1.4")
    before = points(desk)
    desk.shift_points(2, 1, "one point passed over")
    assert points(desk) != before
    desk.shift_points(2, -1, "it was none")
    assert points(desk) == before


def test_where_none_would_move_it_says_so(desk: Desk) -> None:
    record(desk, "1.1")
    desk.jump("SW-08", "access only now")
    record(desk, "1.8")
    desk.jump("SW-06", "access only now")
    record(desk, "1.6")
    with pytest.raises(WrongUseError, match="None of these readings moves"):
        desk.shift_points(2, 1, "one point passed over")
    desk.shift_points(2, 1, "it was keyed at the wrong point", last=2)  # one alone does
    assert points(desk) == ["SW-01", "SW-09", "SW-06"]


def test_a_reading_at_a_named_point_tells_the_watch_nothing(tmp_path: Path) -> None:
    """Read like its neighbour for once: no sign that the prober stands at the neighbour on the walk."""
    scene = Scene(tmp_path)
    (tmp_path / "routes" / "wing.toml").write_text(ROUTE, encoding="utf-8")
    values = ["0.4", "1.9", "0.7", "1.4", "0.3", "2.2", "0.9", "1.7", "0.5", "1.2"]
    for _ in range(2):
        with scene.begin() as earlier:
            record(earlier, *values)
            earlier.close()
        scene.clock.tick(86_400)
    with scene.begin() as desk:
        record(desk, *values[:3])
        for point, value in (("SW-06", "0.9"), ("SW-08", "0.5"), ("SW-10", "0.4")):  # as one further on reads
            desk.jump(point, "access only now")
            record(desk, value)
        assert len(desk.survey.out_of_turn) == 3
        assert desk.lookout.standing == ()
        record(desk, *values[3:5])
        assert desk.lookout.standing == ()
