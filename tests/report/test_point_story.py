"""Every row that touched a point is told there, with what it changed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.trail import events as ev
from fieldtui.report.basis_words import probability_words
from fieldtui.report.point.story import PointStory, Stories
from fieldtui.report.point.touches import find_touches
from tests.ui.review_fixtures import Story, mohm, route_of
from tests.ui.review_rich import earlier, session, told

ROUTE = route_of(
    *(Point(f"P{n}", "SW", f"Strap {n}", Unit.MOHM, Limit(maximum=mohm("2.5"))) for n in range(4))
)


def rows_of(story: Story, point: str) -> list[tuple[int, str]]:
    read = story.session()
    return [(each.row, each.what) for each in find_touches(read.facts, read.events).get(point, ())]


def test_a_shift_is_told_at_the_point_left_and_at_the_point_come_to() -> None:
    story = Story(ROUTE).read("P0", "1.0").read("P1", "9.0")
    story.tell(ev.ReadingsShifted, ref=2, record=2, point="P2", reason="one ahead")
    assert rows_of(story, "P1") == [
        (3, "record 2: 9.0 mΩ, fail"),
        (4, "record 2: 9.0 mΩ, fail, moved from P1 to P2"),
    ]
    assert rows_of(story, "P2") == [(4, "record 2: 9.0 mΩ, fail, moved from P1 to P2")]
    assert len(rows_of(story, "P0")) == 1


def test_numbers_that_move_are_told_at_every_point_whose_reading_they_belong_to() -> None:
    story = Story(ROUTE).tell(ev.RunStarted, run=1, number=1)
    story.read("P0", "1.0").read("P1", "1.1").read("P2", "1.2")
    story.tell(ev.Renumbered, run=1, number=5, ref=2, reason="stored twice")
    story.tell(ev.Unfiled, ref=3, reason="not kept").tell(ev.Erased, ref=1, reason="cleared")
    assert rows_of(story, "P0")[1:] == [(8, "the meter's entry of record 1 was deleted on the meter")]
    assert rows_of(story, "P1")[1:] == [(6, "record 2: memory run 1, 2 became run 1, 3")]
    assert rows_of(story, "P2")[1:] == [
        (6, "record 3: memory run 1, 3 became run 1, 4"),
        (7, "the meter had not kept record 3; record 3: memory run 1, 4 became run 1"),
    ]


def test_a_verdict_that_turns_with_a_correction_is_told() -> None:
    story = Story(ROUTE).read("P0", "9.0")
    story.tell(ev.Amended, ref=1, reading=mohm("0.9"), reason="misheard")
    assert rows_of(story, "P0")[1:] == [(3, "record 1: value 9.0 mΩ became 0.9 mΩ, verdict fail became pass")]


def test_every_kind_of_event_that_names_a_point_is_told_there() -> None:
    read = session()
    touched = {
        each.event.kind for touches in find_touches(read.facts, read.events).values() for each in touches
    }
    named = {
        event.kind
        for event in told().events
        if getattr(event, "point", "") or isinstance(event, ev.Voided | ev.Amended | ev.Released)
    }
    assert touched >= named
    assert {"release", "void", "amend", "renumber"} <= touched


def test_a_kind_of_event_without_words_of_its_own_is_told_by_its_fields() -> None:
    story = Story(ROUTE)
    for name, kind in ev.KINDS.items():
        fields = set(kind.__dataclass_fields__)
        if "point" not in fields or "ref" in fields or "reading" in fields or "definition" in fields:
            continue
        values: dict[str, Any] = {"point": "P0"} | ({"reason": "because"} if "reason" in fields else {})
        story.tell(kind, **values)
        assert rows_of(story, "P0")[-1][1], name


def story_of(point: str) -> PointStory:
    stories = Stories(session())
    stories.earlier = earlier()
    return stories.tell(point)


def test_the_story_has_the_reason_the_note_and_who() -> None:
    happened = {each.row: each for each in story_of("SW-01").happened}
    assert happened[10].told == (("reason", "read twice, the same"),)
    assert happened[16].told == (("note", "after torque"),)
    assert happened[16].by == "Ana"
    assert list(happened) == sorted(happened)


def test_a_path_is_told_at_each_of_its_points_with_what_is_missing() -> None:
    assert dict(story_of("SW-02").paths)["sum"].startswith(
        "4.3563 mΩ, fail IN DOUBT; U 0.064 mΩ; conforms with"
    )
    assert dict(story_of("TL-03").paths)["sum"] == "none yet: no value at TL-04"
    assert story_of("TL-01").paths == ()


def test_a_limit_from_memory_says_so_and_a_waiver_its_paper() -> None:
    story = story_of("SW-03")
    assert dict(story.defined)["status"].startswith("UNVERIFIED")
    assert any(each.what == "let go by paper W-3" for each in story.happened)
    assert dict(story.stands)["state"] == "waived: Ivo, engineering"


def test_a_point_nothing_happened_at_has_its_definition_all_the_same() -> None:
    story = story_of("TL-04")
    assert story.happened == ()
    assert story.rests == ()
    assert dict(story.defined)["limit"].startswith("< 2.5 mΩ")


def test_a_finish_that_was_restored_names_its_row() -> None:
    point = replace(ROUTE.points[0], restore="coat")
    story = Story(route_of(point)).read("P0", "1.0").tell(ev.Restored, point="P0")
    assert dict(Stories(story.session()).tell("P0").stands)["restored"] == "row 3"


def test_a_probability_is_never_told_as_certain() -> None:
    assert probability_words(1.0) == "above 99.9 %"
    assert probability_words(0.0) == "below 0.1 %"
    assert probability_words(0.9771) == "97.7 %"
