"""Parallel sessions as one coverage, against a reference that looks at every pair."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from fieldtui.core.between.coverage import Conflict, cover
from fieldtui.core.between.history import Seen
from fieldtui.core.survey.position import State
from tests.core.history_fixtures import seen, surveys


def test_two_crews_that_shared_a_route_cover_it() -> None:
    port = [seen("1.38", point="PW-01"), seen(point="SW-01", state=State.SKIPPED), seen(point="SW-02")]
    starboard = [seen(point="PW-01"), seen("2.60", point="SW-01"), seen(point="SW-02")]
    found = {each.point: each for each in cover({"port": port, "starboard": starboard})}
    assert {point: each.state for point, each in found.items()} == {
        "PW-01": State.PASSED,
        "SW-01": State.FAILED,
        "SW-02": State.OPEN,
    }
    assert [part.session for part in found["PW-01"].settled_by] == ["port"]
    assert [part.session for part in found["SW-01"].settled_by] == ["starboard"]
    assert not any(each.conflicts for each in found.values())
    assert [each.point for each in found.values() if not each.is_settled] == ["SW-02"]


def test_a_pass_and_a_fail_conflict_and_the_fail_counts() -> None:
    (found,) = cover({"one": [seen("1.38")], "two": [seen("2.60")]})
    assert (found.state, found.conflicts) == (State.FAILED, (Conflict.STATES,))


def test_a_point_passed_twice_is_told() -> None:
    (found,) = cover({"one": [seen("1.38")], "two": [seen("1.39")]})
    assert (found.state, found.conflicts) == (State.PASSED, (Conflict.TWICE,))


def test_one_id_for_two_unplanned_points_is_a_conflict() -> None:
    (found,) = cover({"one": [seen("1.38")], "two": [seen(places=("bracket", "rib"))]})
    assert found.conflicts == (Conflict.PLACES,)


# --- against a reference ------------------------------------------------------------------

_BADNESS = "open skipped passed recorded waived inaccessible failed".split()


def reference(sessions: dict[str, list[Seen]]) -> dict[str, tuple[str, list[str], set[str]]]:
    """Point -> its state, who settled it, its conflicts: every pair of sessions looked at."""
    answer: dict[str, tuple[str, list[str], set[str]]] = {}
    for point in {each.point for points in sessions.values() for each in points}:
        said = {name: each for name, points in sessions.items() for each in points if each.point == point}
        settled = [name for name in said if said[name].state.value not in ("open", "skipped")]
        conflicts = set()
        for one, two in combinations(said.values(), 2):
            if (one.a, one.b) != (two.a, two.b):
                conflicts.add("not the same two places")
        pairs = [(said[one].state, said[two].state) for one, two in combinations(settled, 2)]
        if any(one is not two for one, two in pairs):
            conflicts.add("settled differently")
        elif pairs:
            conflicts.add("settled more than once")
        worst = max((each.state.value for each in said.values()), key=_BADNESS.index)
        answer[point] = (worst, settled, conflicts)
    return answer


@given(st.lists(surveys(), max_size=5))
def test_coverage_is_what_looking_at_every_pair_gives(told: list[list[Seen]]) -> None:
    sessions = {f"session {number}": points for number, points in enumerate(told)}
    found = {
        each.point: (
            each.state.value,
            [part.session for part in each.settled_by],
            {conflict.value for conflict in each.conflicts},
        )
        for each in cover(sessions)
    }
    assert found == reference(sessions)
