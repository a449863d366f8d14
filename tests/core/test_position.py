"""Where the walk goes: forward, back from detours however nested, round again for what is left."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.survey.position import Position, State, Waiting, WalkOrder, detour, leave, settle
from fieldtui.core.trail import events as ev
from tests.core.walks import Walk, point

ORDER = WalkOrder(tuple("ABCDEFGH"))


def states(**marks: State) -> Waiting:
    """What waits where the points that are not named are open."""
    return Waiting.of(ORDER, lambda each: marks.get(each, State.OPEN))


def never(_: str) -> bool:
    return False


# --- the parts ------------------------------------------------------------------------------


def test_an_order_knows_each_place() -> None:
    assert [ORDER.place[each] for each in "AH"] == [0, 7]
    assert ORDER.with_inserted("X", "C").ids == tuple("ABXCDEFGH")
    assert ORDER.with_inserted("X", "").ids == tuple("ABCDEFGHX")
    assert ORDER.with_rest_reversed("C", lambda each: "1" if each < "F" else "2").ids == tuple("ABEDCFGH")


def test_going_where_one_is_already_is_no_detour() -> None:
    assert detour(Position("C"), "C") == Position("C")


@given(st.permutations("BCDEFGH"))
def test_nested_detours_come_back_one_by_one(way: list[str]) -> None:
    position, done = Position("A"), set()
    for each in way:
        position = detour(position, each)
    back = []
    while position.here is not None and position.here != "A":
        done.add(position.here)
        position = leave(position, ORDER, states(**dict.fromkeys(done, State.PASSED)), never)
        back.append(position.here)
    assert back == [*way[-2::-1], "A"]


@given(
    st.lists(st.sampled_from("ABCDEFGH"), max_size=12), st.sets(st.sampled_from("ABCDEFGH")), st.booleans()
)
def test_a_left_point_leads_to_one_that_is_wanted_or_to_the_end(
    way: list[str], done: set[str], second: bool
) -> None:
    position = Position("A", second_pass=second)
    for each in way:
        position = detour(position, each)
    assert position.here is not None
    waiting = states(**dict.fromkeys(done | {position.here}, State.FAILED))
    after = leave(position, ORDER, waiting, never)
    left = set(ORDER.ids) - done - {position.here}
    assert after.here in left if left else after.here is None
    assert len(after.back) <= len(position.back)


def test_skipped_points_are_passed_by_until_the_second_pass() -> None:
    waiting = states(A=State.PASSED, B=State.SKIPPED, C=State.SKIPPED)
    assert leave(Position("A"), ORDER, waiting, never) == Position("D")
    assert leave(Position("A", second_pass=True), ORDER, waiting, never) == Position("B", second_pass=True)


def test_the_second_pass_goes_round_and_round() -> None:
    waiting = states(**dict.fromkeys("BCDEFG", State.PASSED), A=State.SKIPPED, H=State.SKIPPED)
    position = Position("G")
    seen = []
    for _ in range(4):
        position = leave(position, ORDER, waiting, never)
        seen.append(position.here)
    assert seen == ["A", "H", "A", "H"]


def test_a_finished_walk_takes_up_what_has_come_open() -> None:
    done = dict.fromkeys("ABCDEFGH", State.PASSED)
    finished = leave(Position("H"), ORDER, states(**done), never)
    assert finished == Position(None)
    assert settle(finished, ORDER, states(**done)) == Position(None)
    assert settle(finished, ORDER, states(**{**done, "C": State.OPEN})) == Position("C")
    assert settle(finished, ORDER, states(**{**done, "C": State.SKIPPED})).here == "C"


# --- told as surveys ------------------------------------------------------------------------


def test_a_clean_walk_goes_through_every_point_once() -> None:
    walk = Walk("SW-01", "SW-02", "HU-01")
    assert walk.path() == ["SW-01", "SW-02", "HU-01"]


def test_the_next_point_is_told_before_it_comes() -> None:
    walk = Walk("SW-01", "SW-02", "HU-01").skip()
    seen: list[tuple[str | None, str | None]] = []
    while walk.survey.position.here is not None and len(seen) < 9:
        coming = walk.survey.coming.id if walk.survey.coming is not None else None
        walk.read()
        seen.append((coming, walk.survey.position.here))
    assert seen == [("HU-01", "HU-01"), ("SW-01", "SW-01"), (None, None)]


@given(st.lists(st.tuples(st.sampled_from("rsfjtui"), st.sampled_from("ABCDEF")), max_size=14))
def test_the_way_ahead_is_the_one_that_good_readings_take(deeds: list[tuple[str, str]]) -> None:
    """However it was skipped, jumped, redone and left before, on the second pass too."""
    walk = Walk(*"ABCDEF")
    for deed, where in deeds:
        if walk.survey.position.here is None:
            break
        if deed == "r":
            walk.read()
        elif deed == "f":
            walk.read("9.00")
        elif deed == "s":
            walk.skip()
        elif deed == "j":
            walk.jump(where)
        elif deed == "i":
            walk.tell(ev.AttemptFailed, point=walk.here, reason="not accessible: panel riveted")
        elif deed == "t" and walk.standing(where).records:
            walk.redo(where)
        elif deed == "u" and any(record.is_valid for record in walk.survey.records.values()):
            walk.void(max(number for number, record in walk.survey.records.items() if record.is_valid))
    ahead = list(walk.survey.ahead)
    assert walk.path()[1:] == [position.here for position in ahead]
    assert (walk.survey.coming.id if walk.survey.coming else None) == (ahead[0].here if ahead else None)


def test_the_second_pass_is_told_where_a_detour_comes_before_it() -> None:
    walk = Walk("A-1", "A-2", "A-3", "A-4").skip().read().read().redo("A-2")
    walk.tell(ev.AttemptFailed, point="A-4", reason="not accessible: panel riveted")
    assert [(each.here, each.second_pass) for each in walk.survey.ahead] == [("A-1", True)]


def test_after_a_redo_the_walk_returns_to_where_it_was() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04").read().read().redo("SW-01")
    assert walk.path() == ["SW-01", "SW-03", "SW-04"]


def test_a_redo_of_the_last_point_reopens_a_finished_walk() -> None:
    walk = Walk("SW-01", "SW-02").read().read()
    assert walk.survey.here is None
    walk.redo("SW-02")
    assert walk.path() == ["SW-02"]


def test_a_redo_of_the_point_being_probed_goes_nowhere() -> None:
    walk = Walk(point("SW-01", repeats=2), "SW-02").read().redo("SW-01")
    assert walk.path() == ["SW-01", "SW-01", "SW-02"]


def test_a_jump_returns_even_from_far_ahead() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04").jump("SW-04")
    assert walk.path() == ["SW-04", "SW-01", "SW-02", "SW-03"]


def test_a_redo_inside_a_redo_comes_back_to_the_first() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04").read().read().read()
    walk.redo("SW-02").redo("SW-01")
    assert walk.path() == ["SW-01", "SW-02", "SW-04"]


def test_a_jump_inside_a_redo_comes_back_to_the_redo_and_then_to_the_walk() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04", "SW-05").read().read()
    walk.redo("SW-01").jump("SW-05")
    assert walk.path() == ["SW-05", "SW-01", "SW-03", "SW-04"]


def test_a_detour_from_a_point_that_is_settled_meanwhile_goes_back_further() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04").read().jump("SW-04").jump("SW-03")
    walk.tell(ev.Waived, point="SW-04", reason="the chief engineer", ref="D-7")
    assert walk.path() == ["SW-03", "SW-02"]


def test_an_inserted_point_is_taken_now_and_stands_before_the_one_it_came_before() -> None:
    walk = Walk("SW-01", "SW-02").read().insert(point("X01", section="SW"))
    assert walk.survey.order.ids == ("SW-01", "X01", "SW-02")
    assert walk.path() == ["X01", "SW-02"]


def test_an_inserted_point_that_is_skipped_comes_again_at_its_place() -> None:
    walk = Walk("SW-01", "SW-02").insert(point("X01", section="SW")).skip()
    assert walk.path() == ["SW-01", "SW-02", "X01"]


def test_a_point_inserted_after_the_end_is_the_last() -> None:
    walk = Walk("SW-01").read().insert(point("X01", section="SW"))
    assert walk.survey.order.ids == ("SW-01", "X01")
    assert walk.path() == ["X01"]


def test_the_rest_of_a_section_from_its_far_end() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04", "HU-01").read().tell(ev.SectionReversed, point="SW-02")
    assert walk.path() == ["SW-04", "SW-03", "SW-02", "HU-01"]


def test_a_reversed_section_passes_by_what_was_taken_out_of_turn() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04", "HU-01").jump("SW-04").read()
    walk.tell(ev.SectionReversed, point="SW-01")
    assert walk.path() == ["SW-03", "SW-02", "SW-01", "HU-01"]


def test_a_section_is_reversed_in_the_second_pass_too() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "HU-01").skip().skip().skip().read()
    walk.tell(ev.SectionReversed, point="SW-01")
    assert walk.path() == ["SW-03", "SW-02", "SW-01"]


def test_a_section_of_which_only_this_point_is_left_stays_as_it_is() -> None:
    walk = Walk("SW-01", "HU-01").tell(ev.SectionReversed, point="SW-01")
    assert walk.path() == ["SW-01", "HU-01"]


def test_after_the_last_point_the_walk_leads_through_skipped_and_open_ones() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04").skip().read("1", at="SW-03")
    assert walk.path() == ["SW-04", "SW-01", "SW-02"]


def test_a_point_skipped_again_comes_again() -> None:
    walk = Walk("SW-01", "SW-02").skip().read().skip().skip()
    assert walk.here == "SW-01"
    assert walk.survey.position.second_pass


def test_a_void_brings_its_point_back_after_the_walk() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03").read().read().void(1)
    assert walk.path() == ["SW-03", "SW-01"]


def test_a_void_after_the_end_brings_the_walk_back_at_once() -> None:
    walk = Walk("SW-01", "SW-02").read().read().void(1)
    assert walk.path() == ["SW-01"]


def test_several_readings_are_taken_before_the_walk_goes_on() -> None:
    walk = Walk(point("SW-01", repeats=3), "SW-02")
    assert walk.path() == ["SW-01", "SW-01", "SW-01", "SW-02"]
    assert walk.survey.coming is not None
    assert walk.survey.coming.id == "SW-02"


def test_an_attempt_stays_at_the_point_unless_it_cannot_be_reached() -> None:
    walk = Walk("SW-01", "SW-02").tell(ev.AttemptFailed, point="SW-01", reason="unstable contact")
    assert walk.here == "SW-01"
    walk.tell(ev.AttemptFailed, point="SW-01", reason="not accessible: panel closed")
    assert walk.path() == ["SW-02"]


def test_a_reading_written_down_elsewhere_moves_the_walk_there() -> None:
    walk = Walk("SW-01", "SW-02", "SW-03", "SW-04").read(at="SW-03")
    assert walk.path() == ["SW-04", "SW-01", "SW-02"]
