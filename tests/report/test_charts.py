"""The charts' places and words, held against places worked out by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.account.basis import used_share
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.route import RECORD_ONLY, Comparator, Limit, Point
from fieldtui.core.survey.position import State
from fieldtui.core.trail import events as ev
from fieldtui.report.charts.along_route import PANEL_POINTS, route_charts, short
from fieldtui.report.charts.histogram import Histogram, histogram
from fieldtui.report.charts.pairs import PANEL_PAIRS, pair_charts
from fieldtui.report.charts.scale import Shape, scale_for
from tests.ui.review_fixtures import Story, mohm, route_of

THREE = Limit(maximum=mohm("3.0"))
STRICT = Limit(maximum=mohm("3.0"), upper=Comparator.LESS)
WINDOW = Limit(minimum=mohm("2"), maximum=mohm("10"))
NARROW = Limit(minimum=mohm("4.75"), maximum=mohm("5.25"))
OHMS = st.decimals(min_value="1e-9", max_value="1e9", allow_nan=False, allow_infinity=False, places=9)


def point(name: str, limit: Limit = THREE, **fields: str) -> Point:
    return Point(id=name, section="SW", title=name, unit=Unit.MOHM, limit=limit, **fields)


def read(limit: Limit, *values: str) -> Story:
    """One point a value, all held to ``limit``."""
    points = [point(f"P{number}", limit) for number in range(len(values))]
    story = Story(route_of(*points))
    for each, value in zip(points, values, strict=True):
        story.read(each.id, value)
    return story


def bars_of(story: Story) -> Histogram:
    chart = histogram(story.survey())
    assert chart is not None
    return chart


# --- the scale -------------------------------------------------------------------------------


def test_a_decade_is_divided_as_a_logarithm_is() -> None:
    scale = scale_for([Decimal("0.001"), Decimal("0.010")], 0.0, 100.0)
    assert scale.at(Decimal("0.001")) == 0
    assert scale.at(Decimal("0.010")) == 100
    assert scale.at(Decimal("0.0031622777")) == 50  # the root of ten
    assert [(line.text, line.at) for line in scale.lines] == [
        ("1 mΩ", 0), ("2 mΩ", 30.1), ("5 mΩ", 69.9), ("10 mΩ", 100),
    ]  # fmt: skip


def test_a_wide_scale_has_whole_decades_in_units_a_person_says() -> None:
    scale = scale_for([Decimal("0.0000005"), Decimal("30000000")], 0.0, 1.0)
    texts = [line.text for line in scale.lines]
    assert texts[:2] == ["1 µΩ", "10 µΩ"]
    assert texts[-2:] == ["1 MΩ", "10 MΩ"]


@given(st.lists(OHMS, min_size=1, max_size=8))
def test_every_value_stands_on_the_scale_and_larger_ones_further_on(values: list[Decimal]) -> None:
    scale = scale_for(values, 0.0, 1000.0)
    places = [scale.at(value) for value in sorted(values)]
    assert places == sorted(places)
    assert places[0] >= 0
    assert places[-1] <= 1000
    assert scale.lines


def test_a_value_of_zero_stands_on_the_lowest_line() -> None:
    scale = scale_for([Decimal(0), Decimal("0.001")], 7.0, 9.0)
    assert scale.at(Decimal(0)) == 7
    assert scale_for([Decimal(0)], 7.0, 9.0).at(Decimal(0)) == 7


# --- along the route --------------------------------------------------------------------------


def test_a_fail_is_told_from_a_pass_by_its_shape() -> None:
    (chart,) = route_charts(read(THREE, "1.0", "9.0").survey())
    assert [mark.shape for mark in chart.marks] == [Shape.PASSED, Shape.FAILED]
    good, bad = chart.marks
    limit = chart.bounds[0].y
    assert bad.y < limit < good.y  # up is more
    assert "Failed: P1 reads 9.0 mΩ against <= 3.0 mΩ" in chart.description
    assert bad.text == "P1: 9.0 mΩ, fail"


def test_each_limit_is_a_bar_in_the_slot_of_its_point() -> None:
    (chart,) = route_charts(read(WINDOW, "3", "4").survey())
    assert len(chart.bounds) == 4
    for bound in chart.bounds[:2]:
        assert bound.x1 < chart.marks[0].x < bound.x2 < chart.marks[1].x


def test_as_found_is_drawn_small_where_the_point_was_taken_again() -> None:
    story = read(THREE, "9.0").tell(ev.RedoAsked, point="P0", ref=1, reason="cleaned").read("P0", "1.0")
    (chart,) = route_charts(story.survey())
    assert [(mark.shape, mark.is_first) for mark in chart.marks] == [
        (Shape.FAILED, True), (Shape.PASSED, False),
    ]  # fmt: skip


def test_a_point_without_a_value_and_one_without_a_limit_have_shapes_of_their_own() -> None:
    story = Story(route_of(point("A", RECORD_ONLY), point("B"))).read("A", "1")
    (chart,) = route_charts(story.survey())
    assert [mark.shape for mark in chart.marks] == [Shape.RECORDED, Shape.NOTHING]
    assert [entry.text for entry in chart.legend][:2] == ["recorded, not judged", "no value"]
    assert len(chart.bounds) == 1


def test_no_point_is_left_out_of_a_long_route() -> None:
    points = [point(f"P{number}") for number in range(2 * PANEL_POINTS + 1)]
    charts = route_charts(Story(route_of(*points)).survey())
    assert [name.text for chart in charts for name in chart.names] == [each.id for each in points]
    assert [len(chart.names) for chart in charts] == [PANEL_POINTS, PANEL_POINTS, 1]


def test_every_mark_stands_inside_its_field() -> None:
    (chart,) = route_charts(read(WINDOW, "0", "0.001", "3", "999999").survey())
    assert all(62 <= mark.x <= chart.right and 40 <= mark.y <= chart.foot for mark in chart.marks)


def test_long_names_are_cut_and_say_so() -> None:
    assert short("SW-01") == "SW-01"
    assert short("starboard-wing-01") == "starboard-w…"
    assert short("\u202eabc") == "\\u{202e}abc"


# --- how much of the limit is used ------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "value", "share"),
    [
        (THREE, "1.5", "0.5"),
        (THREE, "6", "2"),
        (Limit(minimum=mohm("2")), "8", "0.25"),
        (Limit(minimum=mohm("2")), "0", "Infinity"),
        (WINDOW, "6", "0"),  # its middle uses nothing, whatever the value
        (WINDOW, "5", "0.25"),
        (WINDOW, "2.5", "0.875"),
        (WINDOW, "2", "1"),
        (WINDOW, "10", "1"),
        (WINDOW, "12", "1.5"),
        (NARROW, "5.01", "0.04"),
        (NARROW, "0", "20"),
        (Limit(minimum=mohm("2"), maximum=mohm("2")), "2", "1"),
        (Limit(minimum=mohm("2"), maximum=mohm("2")), "2.1", "Infinity"),
        (RECORD_ONLY, "1", None),
    ],
)
def test_the_share_of_a_limit(limit: Limit, value: str, share: str | None) -> None:
    assert used_share(limit, mohm(value).ohms) == (None if share is None else Decimal(share))


def test_every_judged_value_is_in_one_bar() -> None:
    chart = bars_of(read(THREE, "0", "0.3", "0.31", "2.99", "3.0", "3.01", "4.6", "999"))
    assert {bar.text: bar.count for bar in chart.bars if bar.count} == {
        "0 to 10 %": 2, "10 to 20 %": 1, "90 to 100 %": 2, "100 to 110 %": 1, "above 140 %": 2,
    }  # fmt: skip
    assert [bar.failed for bar in chart.bars if bar.failed] == [1, 2]
    assert "100 to 110 %: 1 point, 1 failed" in chart.description


def test_a_value_on_a_strict_limit_fails_beyond_the_line_and_one_that_meets_it_does_not() -> None:
    below, beyond = bars_of(read(STRICT, "3.0")).bars[9:11]
    assert (below.count, beyond.count, beyond.failed) == (0, 1, 1)
    assert beyond.top < beyond.middle == bars_of(read(STRICT, "3.0")).foot
    below, beyond = bars_of(read(THREE, "3.0")).bars[9:11]
    assert (below.count, below.failed, beyond.count) == (1, 0, 0)


def test_the_line_of_the_limit_is_where_the_eleventh_bar_begins() -> None:
    chart = bars_of(read(THREE, "1"))
    assert chart.limit_x == chart.bars[10].x


def test_nothing_judged_gives_no_histogram() -> None:
    assert histogram(read(RECORD_ONLY, "1").survey()) is None


# --- left against right -------------------------------------------------------------------------


def paired(*values: tuple[str, str]) -> Story:
    points = [
        each
        for number in range(len(values))
        for each in (point(f"L{number}", pair=f"R{number}"), point(f"R{number}", pair=f"L{number}"))
    ]
    story = Story(route_of(*points))
    for number, (left, right) in enumerate(values):
        for name, value in ((f"L{number}", left), (f"R{number}", right)):
            if value:
                story.read(name, value)
    return story


def test_each_pair_stands_on_one_line_once() -> None:
    (chart,) = pair_charts(paired(("1.0", "1.5"), ("2.0", "2.0")).survey())
    assert [(pair.names, pair.ratio) for pair in chart.pairs] == [
        (("L0", "R0"), "1.50"), (("L1", "R1"), "1.00"),
    ]  # fmt: skip
    left, right = chart.pairs[0].marks
    assert left.y == right.y and left.x < right.x
    assert "L0 1.0 mΩ, R0 1.5 mΩ, ratio 1.50" in chart.description


def test_a_pair_of_which_one_was_not_read_is_left_out() -> None:
    assert pair_charts(paired(("1.0", "")).survey()) == []


def test_a_partner_that_is_not_on_the_route_makes_no_pair() -> None:
    story = Story(route_of(point("A", pair="gone"), point("B", pair="B"))).read("A", "1").read("B", "1")
    assert pair_charts(story.survey()) == []


def test_a_ratio_to_zero_is_said_in_words() -> None:
    (chart,) = pair_charts(paired(("0", "1")).survey())
    assert chart.pairs[0].ratio == "none to zero"


def test_many_pairs_go_on_to_another_chart() -> None:
    charts = pair_charts(paired(*[("1", "1")] * (PANEL_PAIRS + 1)).survey())
    assert [len(chart.pairs) for chart in charts] == [PANEL_PAIRS, 1]


def test_the_words_of_a_chart_count_every_state() -> None:
    story = read(THREE, "1.0", "9.0")
    (chart,) = route_charts(story.survey())
    assert f"1 {State.PASSED.value}, 1 {State.FAILED.value}" in chart.description
