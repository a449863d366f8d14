from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from fieldtui.core.drift.expectations import (
    CONDUCTOR_LIFT,
    DEFAULT_SPREAD,
    DEFAULT_STRAYS,
    FEWEST_STRAYS,
    SMALLEST_SPREAD,
    Expectation,
    Source,
    expectations,
    pooled_spread,
    stray_share,
)
from fieldtui.core.drift.states import STRAY_SHARES, Rates, build_model
from fieldtui.core.drift.watch import (
    MARGIN,
    SILENT,
    Watch,
    WatchedReading,
    begin_watch,
    beginnings,
    fold_watch,
)
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import RECORD_ONLY, Expected, Limit, Point, Route, Section

# --- walks --------------------------------------------------------------------------------


def mohm(text: str) -> Resistance:
    return Resistance(Decimal(text), Unit.MOHM)


def ohms(log_ohms: float) -> Decimal:
    return Decimal(round(math.exp(log_ohms) * 1e9)).scaleb(-9)


def make_plan(means: Sequence[float], *, section: int = 1000, spread: float = 0.1) -> list[Expectation]:
    return [
        Expectation(f"P{i}", f"S{i // section}", mean, spread, Source.SURVEY) for i, mean in enumerate(means)
    ]


def uneven_plan(count: int, *, section: int = 1000, seed: int = 3) -> list[Expectation]:
    """Points that differ well: ln spread 0.5 between them, 0.1 from survey to survey."""
    chance = random.Random(seed)
    return make_plan([chance.gauss(-6.2, 0.5) for _ in range(count)], section=section)


def walked(plan: Sequence[Expectation], probed: Iterable[int | None], seed: int = 8) -> list[WatchedReading]:
    """Readings keyed for place 0, 1, 2 …, while the probes were at ``probed``; None is a failed bond."""
    chance = random.Random(seed)
    found = []
    for place, at in enumerate(probed):
        true = plan[place].mean + 2.5 if at is None else plan[at].mean
        found.append(WatchedReading(place + 1, place, ohms(chance.gauss(true, 0.1))))
    return found


def shifts_of(watch: Watch) -> list[int | None]:
    return [alarm.shift for alarm in watch.alarms]


# --- what each point should read ----------------------------------------------------------


def make_route(*points: Point) -> Route:
    return Route("r", "", "", "", "", Unit.MOHM, 10, (Section("S", ""),), points)


def make_point(name: str, **given: Any) -> Point:
    return replace(Point(name, "S", "", Unit.MOHM, RECORD_ONLY), **given)


def test_the_best_source_of_each_point_is_used() -> None:
    band = Expected(mohm("1"), mohm("4"))
    limit = Limit(maximum=mohm("2.5"))
    route = make_route(
        make_point("known", expected=band, family="f", limit=limit),
        make_point("band", expected=band, family="f", limit=limit),
        make_point("family", family="f", limit=limit),
        make_point("conductor", family="alone", limit=limit),
        make_point("limit", limit=limit),
        make_point("nothing"),
    )
    floors = {"known": Decimal("0.5"), "conductor": Decimal("0.002")}
    found = expectations(route, {"known": [mohm("1.00"), mohm("1.38")]}, floors)
    assert [e.source for e in found] == list(Source)
    known, by_band, family, conductor, by_limit, nothing = found
    assert known.ohms == pytest.approx(1.38e-3)
    assert by_band.ohms == pytest.approx(2e-3)  # the geometric middle of 1 and 4
    assert math.exp(by_band.mean + 2 * by_band.spread) == pytest.approx(4e-3)
    assert family.mean == known.mean and family.spread > known.spread
    assert conductor.mean == pytest.approx(math.log(0.002) + CONDUCTOR_LIFT)
    assert by_limit.mean < math.log(2.5e-3)
    assert nothing.spread > known.spread
    assert [e.source.is_telling for e in found] == [True] * 4 + [False] * 2


def test_a_zero_reading_is_no_history() -> None:
    (found,) = expectations(
        make_route(make_point("a", limit=Limit(maximum=mohm("3")))), {"a": [mohm("0.00")]}
    )
    assert found.source is Source.LIMIT


@pytest.mark.parametrize("true", [0.05, 0.1, 0.3])
def test_the_spread_between_surveys_is_learned_and_strays_are_left_out(true: float) -> None:
    chance = random.Random(1)
    differences = [chance.gauss(0, true) for _ in range(300)]
    assert pooled_spread(differences) == pytest.approx(true, rel=0.15)
    assert pooled_spread(differences + [3.0] * 10) == pytest.approx(true, rel=0.15)


def test_without_earlier_differences_the_spread_is_the_default() -> None:
    assert pooled_spread([]) == DEFAULT_SPREAD
    assert SMALLEST_SPREAD <= pooled_spread([0.0] * 1000) < 2 * SMALLEST_SPREAD


def test_a_point_that_wandered_gets_a_wider_spread_than_one_that_did_not() -> None:
    route = make_route(make_point("steady"), make_point("wandering"))
    history = {
        "steady": [mohm("1.00"), mohm("1.01"), mohm("1.00"), mohm("1.01")],
        "wandering": [mohm("1.00"), mohm("1.60"), mohm("0.90"), mohm("1.50")],
    }
    steady, wandering = expectations(route, history)
    assert wandering.spread > 1.3 * steady.spread


@pytest.mark.parametrize(("every", "share"), [(None, FEWEST_STRAYS), (50, 0.018), (20, 0.042)])
def test_the_share_of_strays_is_what_earlier_surveys_show(every: int | None, share: float) -> None:
    chance = random.Random(2)
    points = [make_point(f"P{i}") for i in range(400)]
    history = {
        point.id: [
            Resistance(Decimal(f"{math.exp(chance.gauss(0, 0.1)):.3f}"), Unit.MOHM),
            mohm("9.00" if every and i % every == 0 else f"{math.exp(chance.gauss(0, 0.1)):.3f}"),
        ]
        for i, point in enumerate(points)
    }
    assert stray_share(make_route(*points), history) == pytest.approx(share, rel=1e-6)  # (1 + n) / 500


def test_without_earlier_differences_the_share_of_strays_is_the_default() -> None:
    route = make_route(make_point("P"))
    assert stray_share(route, {}) == stray_share(route, {"P": [mohm("1.00")]}) == DEFAULT_STRAYS


def test_shares_of_strays_are_weighed_so_that_their_mean_is_the_expected_one() -> None:
    model = build_model(make_plan([-6.0]), Rates(stray=0.007))
    assert {stray for _, stray in model.hypotheses} == set(STRAY_SHARES)
    mean = sum(w * stray for w, (_, stray) in zip(model.weights, model.hypotheses, strict=True))
    assert mean == pytest.approx(0.007)
    assert sum(model.weights) == pytest.approx(1.0)
    assert {stray for _, stray in build_model(make_plan([-6.0]), Rates(stray=0.3)).hypotheses} == {0.3}


# --- the recursions, against every path there is --------------------------------------------

TINY = Rates(slip=0.2, wider=0.3, reverse=0.15, stray=0.015, reach=1)
AHEAD, REVERSED = 2, 3  # states with a reach of one: behind, in step, ahead, reversed


def transition(a: int, b: int, *, enters: bool) -> float:
    """The chance of state ``b`` after ``a``, from the meaning of the rates, not from the code."""
    if a == REVERSED and not enters:
        return float(b == REVERSED)
    start = 1 if a == REVERSED else a  # a reversed walk ends with its section
    turned = TINY.reverse if enters and start == 1 else 0.0
    if b == REVERSED:
        return turned
    one_way = TINY.slip * (1 - TINY.wider) / 2
    slipped = {t: one_way * TINY.wider ** (abs(start - t) - 1) for t in range(3) if t != start}
    return (1 - turned) * (slipped[b] if b != start else 1 - sum(slipped.values()))


def density(
    plan: Sequence[Expectation], state: int, today: tuple[float, float], reading: WatchedReading
) -> float:
    model, (factor, stray) = build_model(plan, TINY), today
    x = math.log(reading.ohms or 0)
    section = [i for i, e in enumerate(plan) if e.section == plan[reading.place].section]
    there = section[0] + section[-1] - reading.place if state == REVERSED else reading.place + state - 1
    if 0 <= there < len(plan):
        mean, spread = plan[there].mean, plan[there].spread * factor
    else:
        mean, spread = model.middle, max(0.5, _population_spread(plan)) * factor
    near = math.exp(-(((x - mean) / spread) ** 2) / 2) / (spread * math.sqrt(2 * math.pi))
    far = 1 / (math.pi * model.width * (1 + ((x - model.middle) / model.width) ** 2))
    return (1 - stray) * near + stray * far


def _population_spread(plan: Sequence[Expectation]) -> float:
    middle = sum(e.mean for e in plan) / len(plan)
    return math.sqrt(sum((e.mean - middle) ** 2 for e in plan) / len(plan))


def all_paths(
    plan: Sequence[Expectation], readings: Sequence[WatchedReading]
) -> dict[tuple[int, ...], float]:
    """The joint probability of every path of states and the readings, over the hypotheses about today."""
    model = build_model(plan, TINY)
    weights = [sum(row) for row in model.begin()]
    seen = [[[density(plan, s, f, r) for s in range(4)] for r in readings] for f in model.hypotheses]
    found: dict[tuple[int, ...], float] = {}
    for path in itertools.product(range(4), repeat=len(readings)):
        moves, before, section = 1.0, 1, ""
        for state, reading in zip(path, readings, strict=True):
            moves *= transition(before, state, enters=plan[reading.place].section != section)
            before, section = state, plan[reading.place].section
        found[path] = moves * sum(
            weight * math.prod(row[state] for state, row in zip(path, rows, strict=True))
            for weight, rows in zip(weights, seen, strict=True)
        )
    return found


def tiny_case(seed: int) -> tuple[list[Expectation], list[WatchedReading], Watch]:
    chance = random.Random(seed)
    plan = make_plan([chance.gauss(-6, 0.4) for _ in range(7)], section=3, spread=0.25)
    places = [0, 1, 2, 2, 3, 4] if seed % 2 else [0, 1, 3, 4, 5, 6]
    readings = [WatchedReading(n + 1, p, ohms(chance.gauss(-6, 0.5))) for n, p in enumerate(places)]
    return plan, readings, fold_watch(plan, readings, rates=TINY, margin=0.49)


@pytest.mark.parametrize("seed", range(4))
def test_the_forward_pass_equals_the_sum_over_all_paths(seed: int) -> None:
    plan, readings, watch = tiny_case(seed)
    paths = all_paths(plan, readings)
    total = sum(paths.values())
    for state, shift in enumerate((-1, 0, 1, None)):
        expected = sum(p for path, p in paths.items() if path[-1] == state) / total
        assert watch.probabilities[shift] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("state", range(4))
@pytest.mark.parametrize("seed", range(4))
def test_the_beginning_equals_the_sum_over_all_paths(seed: int, state: int) -> None:
    plan, readings, watch = tiny_case(seed)
    paths = all_paths(plan, readings)
    total = sum(paths.values())
    found = dict(beginnings(watch, state))
    for n, reading in enumerate(readings):
        fits = [
            p for path, p in paths.items() if set(path[n:]) == {state} and (path[n - 1] if n else 1) != state
        ]
        assert found[reading.record] == pytest.approx(sum(fits) / total, rel=1e-8, abs=1e-15)


def test_moves_lose_no_probability_and_take_time_in_proportion_to_the_reach() -> None:
    for reach in (1, 2, 6, 30):
        model = build_model(make_plan([-6.0, -5.0]), Rates(slip=0.3, wider=0.6, reverse=0.1, reach=reach))
        row = tuple([1 / (2 * reach + 2)] * (2 * reach + 2))
        for enters in (False, True):
            assert math.fsum(model.moved(row, enters=enters)) == pytest.approx(1.0, abs=1e-12)


# --- what the watch says --------------------------------------------------------------------


@pytest.mark.parametrize(
    "shift, cause",
    [
        (1, "one point passed over"),
        (-1, "one reading too many"),
        (2, "2 points passed over"),
        (-3, "3 readings too many"),
    ],
)
def test_a_shift_is_told_once_with_its_beginning(shift: int, cause: str) -> None:
    plan = uneven_plan(80)
    probed = [i if i < 40 else i + shift for i in range(75)]
    watch = fold_watch(plan, walked(plan, probed))
    (alarm,) = watch.alarms
    assert (alarm.shift, alarm.cause) == (shift, cause)
    assert abs(alarm.began_at - 41) <= 2 and alarm.not_before <= alarm.began_at <= alarm.record <= 47
    assert alarm.changed >= 0.5 + MARGIN and alarm.probability <= alarm.changed
    assert watch.shift == shift and watch.alarm is None  # spoken of long ago
    assert watch.probabilities[shift] > 0.95


def test_the_alarm_stands_only_on_the_watch_that_raised_it() -> None:
    plan = uneven_plan(60)
    watch, raised = begin_watch(plan), []
    for reading in walked(plan, [i if i < 30 else i + 1 for i in range(55)]):
        watch = watch.after(reading.place, reading.ohms, reading.record)
        if watch.alarm:
            raised.append((reading.record, watch.alarm))
    assert [(record, alarm) for record, alarm in raised] == [(watch.alarms[0].record, watch.alarms[0])]


def test_the_evidence_shows_each_reading_against_both_points() -> None:
    plan = uneven_plan(60)
    readings = walked(plan, [i if i < 30 else i + 1 for i in range(55)])
    (alarm,) = fold_watch(plan, readings).alarms
    assert [e.record for e in alarm.evidence] == list(range(alarm.began_at, alarm.record + 1))
    for shown in alarm.evidence:
        reading = readings[shown.record - 1]
        assert shown.ohms == reading.ohms
        assert shown.as_recorded.point == f"P{reading.place}"
        assert shown.as_shifted is not None and shown.as_shifted.point == f"P{reading.place + 1}"


@pytest.mark.parametrize(
    "often, ahead",
    [((2,), 1), ((2,), -1), ((2,), 2), ((3,), 1), ((3,), -1), ((1, 1, 3, 1, 2), 1), ((1, 1, 3, 1, 2), -1)],
)
def test_a_shift_is_counted_in_points_where_they_are_read_several_times(
    often: tuple[int, ...], ahead: int
) -> None:
    """What moves the readings moves them by points: one passed over is not as many as it has readings."""
    points = uneven_plan(60)
    plan = [each for at, each in enumerate(points) for _ in range(often[at % len(often)])]
    at = [int(each.point[1:]) for each in plan]
    probed = [plan.index(points[p if p < 20 else p + ahead]) for p in at if p < 40]
    readings = walked(plan, probed)
    watch = begin_watch(plan)
    while watch.alarm is None:
        reading, *readings = readings
        watch = watch.after(reading.place, reading.ohms, reading.record)
    words = {1: "one point passed over", -1: "one reading too many", 2: "2 points passed over"}
    assert (watch.alarm.shift, watch.alarm.cause) == (ahead, words[ahead])
    for shown in watch.alarm.evidence:
        there = f"P{at[shown.record - 1] + ahead}"
        assert shown.as_shifted is not None and shown.as_shifted.point == there


def test_a_walk_in_step_is_left_alone() -> None:
    for seed in range(10):
        plan = uneven_plan(150, section=25, seed=seed)
        watch = fold_watch(plan, walked(plan, range(150), seed))
        assert watch.alarms == () and watch.probabilities[0] > 0.9


def test_failed_bonds_are_not_a_shift() -> None:
    plan = uneven_plan(80)
    probed = [None if i in (20, 33, 34, 35, 60) else i for i in range(80)]
    assert fold_watch(plan, walked(plan, probed)).alarms == ()


def test_a_shift_is_seen_through_failed_bonds() -> None:
    plan = uneven_plan(80)
    probed = [None if i in (40, 42, 45) else i if i < 40 else i + 1 for i in range(75)]
    assert shifts_of(fold_watch(plan, walked(plan, probed))) == [1]


def test_a_section_walked_from_its_far_end_is_noticed_and_ends_with_the_section() -> None:
    plan = uneven_plan(75, section=25)
    probed = [*range(25), *range(49, 24, -1), *range(50, 75)]
    watch = fold_watch(plan, walked(plan, probed))
    (alarm,) = watch.alarms
    assert alarm.shift is None and alarm.cause == "section walked from its far end"
    assert alarm.began_at == 26
    assert watch.shift == 0 and watch.probabilities[0] > 0.99
    assert alarm.evidence[0].as_shifted is not None and alarm.evidence[0].as_shifted.point == "P49"


def test_coming_back_into_step_is_told_too() -> None:
    plan = uneven_plan(90)
    probed = [i + 1 if 30 <= i < 60 else i for i in range(90)]
    watch = fold_watch(plan, walked(plan, probed))
    assert shifts_of(watch) == [1, 0]
    assert watch.alarms[1].cause == "prober and record in step again"
    assert abs(watch.alarms[1].began_at - 61) <= 1


def test_a_second_slip_is_a_second_alarm() -> None:
    plan = uneven_plan(90)
    probed = [i + (i >= 30) + (i >= 60) for i in range(85)]
    assert shifts_of(fold_watch(plan, walked(plan, probed))) == [1, 2]


def test_limits_alone_keep_it_silent_and_it_says_so() -> None:
    limits = [Limit(maximum=mohm(str(1 + i % 7))) for i in range(40)]
    route = make_route(*(make_point(f"P{i}", limit=limit) for i, limit in enumerate(limits)))
    plan = expectations(route, {})
    readings = walked(plan, [i if i < 10 else i + 1 for i in range(38)])
    watch = fold_watch(plan, readings)
    assert watch.alarms == () and watch.silence == SILENT
    assert begin_watch(uneven_plan(3)).silence is None


def test_points_that_all_read_alike_tell_nothing() -> None:
    plan = make_plan([-6.0] * 60)
    watch = fold_watch(plan, walked(plan, [i if i < 20 else i + 1 for i in range(58)]))
    assert watch.alarms == ()


def test_a_reading_of_zero_says_nothing() -> None:
    plan = uneven_plan(60)
    readings = [WatchedReading(i + 1, i, Decimal("0.00")) for i in range(50)]
    assert fold_watch(plan, readings).alarms == ()


def test_a_reading_that_tells_nothing_of_its_point_is_no_evidence() -> None:
    plan = uneven_plan(60)
    silent = [WatchedReading(i + 1, i, None) for i in range(50)]
    assert fold_watch(plan, silent).alarms == ()
    shifted = walked(plan, [i if i < 30 else i + 1 for i in range(55)])
    shifted = [replace(each, ohms=None) if each.record in (32, 34) else each for each in shifted]
    (alarm,) = fold_watch(plan, shifted).alarms
    assert alarm.shift == 1
    assert not {32, 34} & {each.record for each in alarm.evidence}


def test_spreads_twice_too_small_are_found_out_on_the_walk() -> None:
    chance = random.Random(5)
    plan = uneven_plan(300)
    readings = [WatchedReading(i + 1, i, ohms(chance.gauss(e.mean, 0.2))) for i, e in enumerate(plan)]
    watch = fold_watch(plan, readings)
    likeliest = max(zip(watch.belief, watch.model.hypotheses, strict=True), key=lambda pair: sum(pair[0]))[1]
    assert likeliest[0] == 2.0


def test_a_crew_with_many_strays_is_found_out_and_believed_less() -> None:
    plan = uneven_plan(120)
    probed = [None if i % 20 == 10 else i for i in range(110)]
    clean, strayed = (fold_watch(plan, walked(plan, seen)) for seen in (range(110), probed))

    def many(watch: Watch) -> float:
        rows = zip(watch.belief, watch.model.hypotheses, strict=True)
        return sum(sum(row) for row, (_, stray) in rows if stray == max(STRAY_SHARES))

    assert many(clean) < 0.3 < 0.99 < many(strayed)
    reading = walked(plan, [*probed, 111])[-1]  # the first one that is a point ahead
    assert (
        strayed.after(reading.place, reading.ohms, 111).probabilities[1]
        < clean.after(reading.place, reading.ohms, 111).probabilities[1]
    )


def test_a_hypothesis_ruled_out_is_not_followed_any_more() -> None:
    plan = uneven_plan(300)
    watch = fold_watch(plan, walked(plan, range(300)))
    assert sum(any(row) for row in watch.belief) < len(watch.belief)
    assert math.fsum(map(math.fsum, watch.belief)) == pytest.approx(1.0)
    assert len(watch.settled().belief) == len(watch.belief)


def test_settling_at_a_record_that_is_void_by_now_still_counts() -> None:
    plan = uneven_plan(90)
    readings = walked(plan, [i if i < 30 or i >= 45 else i + 1 for i in range(90)])
    without = [reading for reading in readings if reading.record != 45]
    assert shifts_of(fold_watch(plan, without, settled_at={45})) == [1]
    at_the_end = fold_watch(plan, readings[:44], settled_at={45})
    assert at_the_end.probabilities[0] == pytest.approx(1.0)


def test_settling_forgets_the_shift_but_not_the_spread() -> None:
    plan = uneven_plan(90)
    readings = walked(plan, [i if i < 30 or i >= 45 else i + 1 for i in range(90)])
    settled = fold_watch(plan, readings, settled_at={45})
    assert shifts_of(settled) == [1]  # no "in step again": the crew knows
    before = fold_watch(plan, readings[:45])
    assert before.settled().probabilities[0] == pytest.approx(1.0)
    assert [sum(row) for row in before.settled().belief] == pytest.approx([sum(row) for row in before.belief])


def test_a_shift_that_is_still_there_after_settling_is_told_again_from_then_on() -> None:
    plan = uneven_plan(90)
    readings = walked(plan, [i if i < 30 else i + 1 for i in range(85)])
    first, second = fold_watch(plan, readings, settled_at={45}).alarms
    assert first.shift == second.shift == 1
    assert first.began_at < 45 < second.began_at


def test_a_shift_is_named_anew_only_when_the_new_name_is_sure() -> None:
    renamed = 0
    for seed in range(24):
        plan = make_plan([-6 + (e.mean + 6) / 2 for e in uneven_plan(60, seed=seed)], section=30)
        watch = begin_watch(plan)
        for reading in walked(plan, [*range(30), *range(59, 29, -1)], seed):
            before, watch = watch, watch.after(reading.place, reading.ohms, reading.record)
            if watch.alarm and before.alarms and watch.alarm.shift != 0:
                renamed += 1
                assert watch.alarm.probability >= 0.5 + MARGIN
                assert len(watch.alarms) == len(before.alarms)
                assert watch.alarm.record == before.alarms[-1].record
        assert shifts_of(watch)[-1] is None
    assert renamed  # the case came up


def test_folding_equals_walking_and_a_watch_is_never_changed() -> None:
    plan = uneven_plan(50)
    readings = walked(plan, range(50))
    watch = begin_watch(plan)
    for reading in readings:
        kept = watch
        watch = watch.after(reading.place, reading.ohms, reading.record)
        assert kept.after(reading.place, reading.ohms, reading.record) == watch
    assert fold_watch(plan, readings) == watch


def test_after_the_amendment_the_refolded_record_is_clean() -> None:
    """Once records from the slip on are moved to the right points, nothing is left to tell."""
    plan = uneven_plan(80)
    readings = walked(plan, [i if i < 40 else i + 1 for i in range(78)])
    assert shifts_of(fold_watch(plan, readings)) == [1]
    moved = [WatchedReading(r.record, r.place + (r.record > 40), r.ohms) for r in readings]
    assert fold_watch(plan, moved).alarms == ()


def test_only_so_many_readings_are_kept_however_long_the_walk() -> None:
    plan = uneven_plan(300)
    watch = fold_watch(plan, walked(plan, range(300)))
    assert len(watch.recent) == 64


def test_a_rarer_slip_or_a_wider_margin_makes_it_slower() -> None:
    plan = make_plan([e.mean for e in uneven_plan(80)], spread=0.25)
    readings = walked(plan, [i if i < 40 else i + 1 for i in range(78)])
    quick = fold_watch(plan, readings, margin=0.2)
    slow = fold_watch(plan, readings, margin=0.4999)
    rare = fold_watch(plan, readings, margin=0.2, rates=Rates(slip=1e-6))
    assert quick.alarms[-1].record < slow.alarms[-1].record
    assert quick.alarms[-1].record < rare.alarms[-1].record


@pytest.mark.parametrize("margin", [-0.1, 0.5, 1.0])
def test_a_margin_that_cannot_be_met_is_refused(margin: float) -> None:
    with pytest.raises(ValueError, match="margin"):
        begin_watch(uneven_plan(3), margin=margin)


def test_rates_that_are_no_chances_are_refused() -> None:
    with pytest.raises(ValueError, match="chances"):
        Rates(slip=0.0)
    with pytest.raises(ValueError, match="chances"):
        Rates(reach=0)


def test_a_place_off_the_plan_is_refused() -> None:
    with pytest.raises(IndexError, match="place 3"):
        begin_watch(uneven_plan(3)).after(3, Decimal("0.001"), 1)


def test_one_reading_on_a_route_of_one_point() -> None:
    watch = fold_watch(make_plan([-6.0]), [WatchedReading(1, 0, Decimal("0.05"))])
    assert watch.alarms == () and sum(watch.probabilities.values()) == pytest.approx(1.0)
