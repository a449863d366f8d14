"""Values worth a second look: which are asked about, what is offered instead, and which are left alone."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.doubts import Doubt, DoubtKind, find_doubts, outer_spread
from fieldtui.core.drift.expectations import Expectation, Source, expectations
from fieldtui.core.measurement.ohms import Resistance, Unit, parse_resistance
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Conductor, Expected, Limit
from tests.bench.doubts import DEVELOPMENT, run_case
from tests.core.walks import METER, Walk, point
from tests.strategies import resistances


def mohm(text: str) -> Resistance:
    return parse_resistance(text, Unit.MOHM)


def asked(walk: Walk, keyed: str, **history: str) -> tuple[Doubt, ...]:
    """What is asked about ``keyed`` at the point being probed; ``SW_01="1.38"`` is its last survey."""
    known = {name.replace("_", "-"): [mohm(value)] for name, value in history.items()}
    plan = {each.point: each for each in expectations(walk.survey.route, known)}
    return find_doubts(walk.survey, mohm(keyed), plan[walk.here], expected=plan)


def kinds(doubts: tuple[Doubt, ...]) -> list[DoubtKind]:
    return [doubt.kind for doubt in doubts]


@pytest.mark.parametrize(
    ("keyed", "slip", "likely"),
    [
        ("13.8", "decimal moved", "1.38"),
        ("0.138", "decimal moved", "1.38"),
        ("138", "decimal moved", "1.38"),
        ("1380", "unit wrong", "1.380"),
        ("8.31", "digits swapped", None),
    ],
)
def test_against_the_last_survey_a_slip_is_named_with_the_value_it_would_have_been(
    keyed: str, slip: str, likely: str | None
) -> None:
    (doubt,) = asked(Walk("SW-01", "SW-02"), keyed, SW_01="1.38")
    assert doubt.likely is not None
    if likely is not None:
        assert doubt.kind is DoubtKind.SLIP
        assert (slip in doubt.what, doubt.likely.digits) == (True, likely)
        assert doubt.likely.unit is Unit.MOHM
    assert keyed in doubt.what


@pytest.mark.parametrize("keyed", ["1.38", "1.1", "1.9", "2.4", "0.8"])
def test_a_value_near_the_last_survey_is_left_alone(keyed: str) -> None:
    assert asked(Walk("SW-01", "SW-02"), keyed, SW_01="1.38") == ()


def test_far_from_the_last_survey_without_a_slip_that_explains_it() -> None:
    (doubt,) = asked(Walk("SW-01", "SW-02"), "66.6", SW_01="1.38")
    assert (doubt.kind, doubt.likely) == (DoubtKind.SURVEY, None)
    assert "48 times the last survey" in doubt.what


def test_less_than_the_conductor_must_have() -> None:
    jumper = point("SW-01", conductor=Conductor(Decimal(305), awg="18"))  # 6.4 mohm of its own
    (doubt, *_) = asked(Walk(jumper, "SW-02"), "0.66")
    assert doubt.kind is DoubtKind.CONDUCTOR
    assert "both probes on one part?" in doubt.what
    assert kinds(asked(Walk(jumper, "SW-02"), "6.6")) == []


def test_nought_is_asked_about_where_low_is_good_and_not_where_high_is() -> None:
    assert kinds(asked(Walk("SW-01"), "0.00")) == [DoubtKind.CONDUCTOR]
    assert asked(Walk(point("SW-01", limit=Limit(minimum=mohm("1")))), "0.00") == ()


def test_the_value_of_the_reading_before_where_the_last_survey_had_another() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").read("1.38")
    (doubt,) = asked(walk, "1.38", SW_01="1.40", SW_02="2.30")
    assert doubt.kind is DoubtKind.REPEATED
    assert "record 1 read at SW-01" in doubt.what
    assert asked(walk, "1.38", SW_01="1.40", SW_02="1.39") == ()  # there it is likely enough
    assert asked(walk, "1.39", SW_01="1.40", SW_02="2.30") == ()


def test_repeated_readings_of_one_point_may_be_equal() -> None:
    walk = Walk(point("SW-01", repeats=3, rule="median"), "SW-02").read("1.382")
    assert asked(walk, "1.382") == ()
    assert kinds(asked(walk, "13.82")) == [DoubtKind.SLIP]


def test_far_from_its_pair() -> None:
    left, right = point("SW-01", pair="SW-02"), point("SW-02", pair="SW-01")
    walk = Walk(left, right).read("1.00")
    assert asked(walk, "1.6") == ()
    (doubt,) = asked(walk, "6.66")
    assert doubt.kind in (DoubtKind.PAIR, DoubtKind.SLIP)
    assert "its pair SW-01" in doubt.what


def test_far_from_its_family() -> None:
    walk = Walk(*(point(f"SW-{n:02}", family="flap jumpers") for n in range(1, 10)))
    for value in ("0.95", "1.02", "1.10", "0.99", "1.05", "0.97"):
        walk.read(value)
    assert asked(walk, "1.6") == ()
    (doubt,) = asked(walk, "10.1")
    assert (doubt.kind, doubt.likely) == (DoubtKind.SLIP, mohm("1.01"))
    (doubt,) = asked(walk, "33.3")
    assert doubt.kind is DoubtKind.FAMILY


def test_outside_its_expected_band() -> None:
    banded = point("SW-01", expected=Expected(mohm("0.8"), mohm("1.6")))
    assert [asked(Walk(banded), inside) for inside in ("0.8", "1.2", "1.60")] == [(), (), ()]
    (doubt,) = asked(Walk(banded), "11.2")
    assert (doubt.kind, doubt.likely) == (DoubtKind.SLIP, mohm("1.12"))
    assert "above the expected 0.8 to 1.6 mΩ: decimal moved? 1.12 mΩ fits" in doubt.what
    (doubt,) = asked(Walk(banded), "66.6")
    assert doubt.kind is DoubtKind.BAND
    for keyed, what in (
        ("1.61", "1.61 mΩ is above the expected 0.8 to 1.6 mΩ"),
        ("790u", "790 µΩ is below the expected 0.8 to 1.6 mΩ"),
    ):
        (doubt,) = asked(Walk(banded), keyed)
        assert (doubt.kind, doubt.what) == (DoubtKind.BAND, what)


def test_outside_its_band_and_known_for_it() -> None:
    """Neither the second reading of a take is asked about again, nor what the last survey read as well."""
    banded = point("SW-01", expected=Expected(mohm("0.8"), mohm("1.6")), repeats=2)
    assert asked(Walk(banded).read("1.9"), "1.92") == ()
    assert asked(Walk(banded), "1.7", SW_01="1.9") == ()
    assert kinds(asked(Walk(banded), "1.7", SW_01="1.5")) == [DoubtKind.BAND]
    assert kinds(asked(Walk(banded), "0.7", SW_01="1.7")) == [DoubtKind.BAND]  # on the other side


def test_a_wrong_unit_is_told_in_the_unit_of_the_limit_and_no_peers_are_named_that_are_not_there() -> None:
    window = Limit(Resistance(Decimal(10), Unit.KOHM), Resistance(Decimal(1), Unit.KOHM))
    (doubt,) = asked(Walk(point("SW-01", limit=window, unit=Unit.KOHM)), "47m")
    assert doubt.likely == Resistance(Decimal(47), Unit.KOHM)
    assert "47 kΩ fits" in doubt.what and "far below what its limit, " in doubt.what
    assert "points with its limit" not in doubt.what
    walk = Walk(*(f"SW-{n:02}" for n in range(1, 6)))
    for value in ("0.95", "1.32", "1.10"):
        walk.read(value)
    assert "the points with its limit" in asked(walk, "13.2")[0].what


def test_with_a_limit_alone_only_a_tenfold_slip_is_seen() -> None:
    walk = Walk(*(f"SW-{n:02}" for n in range(1, 12)))
    for value in ("0.95", "1.32", "1.10", "0.79", "1.05", "1.47"):
        walk.read(value)
    assert kinds(asked(walk, "11.0")) == [DoubtKind.SLIP]
    assert asked(walk, "2.9") == ()  # over the limit, and that may well be so


def test_what_was_read_the_same_before_is_not_asked_about_again() -> None:
    walk = Walk("SW-01", "SW-02").read("13.8").redo("SW-01")
    assert asked(walk, "13.9", SW_01="1.38") == ()
    assert kinds(asked(walk, "139", SW_01="1.38")) == [DoubtKind.SLIP]


def test_one_failed_bond_does_not_make_sound_ones_doubtful() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").read("9.9")
    assert asked(walk, "1.0") == ()


def test_no_point_left_no_doubt() -> None:
    assert find_doubts(Walk("SW-01").read("1.0").survey, mohm("13.8")) == ()


@given(resistances(), st.floats(-12, 6), st.floats(0.03, 2), st.sampled_from(Source))
def test_any_value_against_anything_expected(
    reading: Resistance, mean: float, spread: float, source: Source
) -> None:
    walk = Walk("SW-01", "SW-02")
    before = (reading.digits, walk.survey)
    found = find_doubts(walk.survey, reading, Expectation("SW-01", "SW", mean, spread, source))
    assert (reading.digits, walk.survey) == before
    for doubt in found:
        assert doubt.what
        assert doubt.likely is None or (doubt.likely.ohms > 0 and doubt.likely != reading)
    if reading.ohms > 0 and source is Source.SURVEY and abs(math.log(reading.ohms) - mean) < 0.5:
        assert found == ()


@pytest.mark.parametrize("case", DEVELOPMENT[1::3], ids=lambda case: case.name)
def test_the_bench_in_small(case: object) -> None:
    """Needless questions and tenfold slips caught: the whole table is ``python -m tests.bench.doubts``."""
    outcome = run_case(case, 4, "test")  # type: ignore[arg-type]
    assert outcome.needless.share <= 0.025  # 320 readings: chance has its part
    assert outcome.caught.share >= outcome.case.goal - 0.02
    assert outcome.caught_among_slips.share >= outcome.case.goal - 0.1  # some 30 slips


def test_one_slip_does_not_make_the_next_one_look_usual() -> None:
    """A number of decimals counts as known once one reading in twenty has it, and two at the least."""
    names = [f"P-{number:02d}" for number in range(1, 31)]
    walk = Walk(*(point(name, limit=Limit(mohm("2.5"))) for name in names))
    sound = ["1.10", "1.35", "0.95", "1.60", "1.20", "0.80", "1.45", "1.05", "1.90", "1.15"]
    for value in sound:
        walk.read(value)
    before = asked(walk, "4.2"), asked(walk, "4.20")
    assert [bool(doubts) for doubts in before] == [True, False]  # one decimal is odd here, two are not
    walk.read("12.5")  # a slip that was confirmed, with one decimal
    assert [bool(asked(walk, value)) for value in ("4.2", "4.20")] == [True, False]


def test_the_outer_spread_of_a_normal_law_is_its_spread_and_three_strays_in_twenty_do_not_reach_it() -> None:
    scores = [NormalDist().inv_cdf((place + 0.5) / 1000) for place in range(1000)]
    assert outer_spread(scores, 0.0) == pytest.approx(1.0, abs=0.01)
    few = [NormalDist().inv_cdf((place + 0.5) / 17) for place in range(17)]
    near, far = ([*few, *(stray,) * 3] for stray in (4.0, 400.0))
    assert outer_spread(near, 0.0) == outer_spread(far, 0.0) < 1.6
    assert outer_spread([*few, *(400.0,) * 4], 0.0) > 200  # a fourth one does


@pytest.mark.parametrize(
    ("step", "keyed", "is_doubtful"),
    [
        ("1", "1.9", True),  # below "less than 2.5" and no value this display has
        ("1", "2", False),
        ("1", "2.0", True),  # nor is the nought
        ("0.01", "1.38", False),
        ("0.01", "1.380", True),
        ("0.01", "950 uohm", False),
        ("0.01", "955 uohm", True),
        ("0.25", "1.5", False),
        ("0.25", "1.6", True),
        ("0.001", "999999999 Mohm", False),
    ],
)
def test_a_digit_that_the_meter_cannot_show_is_doubtful(step: str, keyed: str, is_doubtful: bool) -> None:
    accuracy = Accuracy(Decimal("0.5"), mohm("0.01"), resolution=mohm(step))
    walk = Walk("SW-01", "SW-02", instrument=replace(METER, accuracy=accuracy))
    found = find_doubts(walk.survey, mohm(keyed))
    assert (DoubtKind.DISPLAY in kinds(found)) is is_doubtful
    walk.read(keyed, at="SW-01")
    again = find_doubts(walk.survey, mohm(keyed), point="SW-01")  # read the same again: doubtful all the same
    assert (DoubtKind.DISPLAY in kinds(again)) is is_doubtful
