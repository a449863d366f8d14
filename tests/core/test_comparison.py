"""Two surveys against each other: what is told, and that it does not depend on the order."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given

from fieldtui.core.between.comparison import Change, Difference, compare, compare_point
from fieldtui.core.between.history import Seen
from fieldtui.core.plan.route import RECORD_ONLY, Limit
from fieldtui.core.survey.position import State
from fieldtui.core.verdict.judging import Verdict
from tests.core.history_fixtures import LOWER, UPPER, WINDOW, mohm, seen, surveys


def change(old: Seen | None, new: Seen | None) -> Change:
    return compare_point("SW-01", old, new).change


def evidence_of(old: Seen, new: Seen) -> tuple[Decimal, Decimal, Decimal | None, bool]:
    found = compare_point("SW-01", old, new).evidence
    assert found is not None
    return found.difference, found.allowed, found.e_n, found.is_real


# --- real or not --------------------------------------------------------------------------


def test_e_n_is_the_difference_over_both_expanded_uncertainties() -> None:
    """ISO 13528:2022: 0.5 over the root of 0.3 squared and 0.4 squared is 1, and 1 is not above 1."""
    difference, allowed, e_n, is_real = evidence_of(seen("1.0", u="0.15"), seen("1.5", u="0.20"))
    assert (difference, allowed, e_n, is_real) == (Decimal("0.0005"), Decimal("0.0005"), Decimal(1), False)
    assert evidence_of(seen("1.0", u="0.15"), seen("1.6", u="0.20"))[2:] == (Decimal("1.2"), True)


@pytest.mark.parametrize(
    ("old", "new", "is_real"),
    [
        ("1.38", "1.40", False),  # one step of each display
        ("1.38", "1.41", True),
        ("1.4", "1.50", False),  # the coarser display allows more
        ("1.4", "1.52", True),
        ("1.41", "1.38", True),
    ],
)
def test_without_a_stated_accuracy_the_display_steps_decide(old: str, new: str, is_real: bool) -> None:
    *_, e_n, found = evidence_of(seen(old), seen(new))
    assert (e_n, found) == (None, is_real)


def test_an_accuracy_stated_on_one_side_counts_on_that_side() -> None:
    assert evidence_of(seen("1.00"), seen("1.30", u="0.15"))[1:] == (Decimal("0.00031"), None, False)


def test_the_ratio_keeps_clear_of_zero() -> None:
    ratios = [compare_point("SW-01", seen(old), seen("1.5")).evidence for old in ("0.0", "1.0")]
    assert [each.ratio if each else "none" for each in ratios] == [None, Decimal("1.5")]


# --- what it is called --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "old", "new", "expected"),
    [
        (UPPER, "1.38", "1.38", Change.SAME),
        (UPPER, "1.38", "1.39", Change.SAME),
        (UPPER, "1.38", "1.60", Change.WORSE),
        (UPPER, "1.60", "1.38", Change.BETTER),
        (UPPER, "2.49", "2.50", Change.WORSE),  # not real, and over the line all the same
        (UPPER, "2.50", "2.49", Change.BETTER),
        (UPPER, "2.60", "2.90", Change.WORSE),
        (LOWER, "5.0", "2.0", Change.WORSE),
        (LOWER, "2.0", "5.0", Change.BETTER),
        (WINDOW, "2.0", "2.7", Change.WORSE),
        (WINDOW, "1.2", "1.9", Change.BETTER),
        (WINDOW, "1.5", "2.5", Change.CHANGED),  # as near to the one bound as before to the other
        (RECORD_ONLY, "1.5", "2.5", Change.CHANGED),
        (RECORD_ONLY, "1.5", "1.5", Change.SAME),
    ],
)
def test_worse_is_towards_the_limit(limit: Limit, old: str, new: str, expected: Change) -> None:
    assert change(seen(old, limit=limit), seen(new, limit=limit)) is expected


def test_what_only_one_survey_read() -> None:
    read, unread = seen("1.38"), seen(state=State.INACCESSIBLE)
    assert change(read, None) is change(read, unread) is Change.MISSING
    assert change(None, read) is change(unread, read) is Change.NEW
    assert change(unread, None) is change(unread, unread) is Change.UNREAD


def test_what_only_unproven_rows_may_have_is_neither_missing_nor_new() -> None:
    read, unread = seen("1.38"), seen(state=State.OPEN)
    unproven = replace(unread, is_unproven=True)
    assert change(read, unproven) is change(unproven, read) is Change.UNPROVEN
    assert change(unread, unproven) is change(unproven, None) is Change.UNPROVEN
    assert compare_point("SW-01", read, unproven).is_finding
    # What was read before the break is compared.
    assert change(read, replace(seen("1.38"), is_unproven=True)) is Change.SAME


def test_a_limit_that_changed_is_told_and_makes_nothing_worse_by_itself() -> None:
    tight = Limit(maximum=mohm("1.0"))
    found = compare_point("SW-01", seen("1.38"), seen("1.38", limit=tight))
    assert (found.change, found.is_limit_changed) == (Change.CHANGED, True)
    assert found.is_finding  # it fails now, whatever the reason
    assert compare_point("SW-01", seen("0.9"), seen("1.38", limit=tight)).change is Change.WORSE


def reworked(value: str, *, days: float, has_failed: bool = True) -> Seen:
    """Left at ``value`` after a rework, judged by ``<= 2.0`` where ``< 2.5`` is planned."""
    left = seen(value, days=days, retest=True)
    assert left.reading is not None
    reading = replace(left.reading, has_failed=has_failed)
    return replace(left, limit=Limit(maximum=mohm("2.0")), reading=reading)


def test_what_was_found_failed_and_repaired_is_not_better() -> None:
    """2.40 passed; then 2.70 failed and was left at 1.90: the bond had become worse, not better."""
    found = compare_point("SW-01", seen("2.40"), reworked("1.90", days=365))
    assert (found.change, found.is_finding, found.is_limit_changed) == (Change.REPAIRED, True, False)
    again = compare_point("SW-01", reworked("1.90", days=0), reworked("1.90", days=365))
    assert (again.change, again.is_finding) == (Change.REPAIRED, True)  # repaired, and failed again
    # Cleaned though it passed; a failure before, repaired since; a failure still; the same survey twice.
    assert change(seen("2.40"), reworked("1.90", days=365, has_failed=False)) is Change.BETTER
    assert change(seen("2.70"), reworked("1.90", days=365)) is Change.BETTER
    left = replace(reworked("2.60", days=365), limit=UPPER)
    assert left.reading is not None
    failing = replace(left, reading=replace(left.reading, verdict=Verdict.FAIL))
    assert change(seen("2.40"), failing) is Change.WORSE
    once = reworked("1.90", days=0)
    assert change(once, once) is Change.SAME


def test_another_source_of_the_same_figure_is_no_other_limit() -> None:
    cited = Limit(maximum=mohm("2.50"), upper=UPPER.upper, criterion="equipment-frame")
    assert not compare_point("SW-01", seen("1.38"), seen("1.38", limit=cited)).is_limit_changed


def test_other_places_under_the_same_id_are_told() -> None:
    moved = compare_point("SW-01", seen("1.38"), seen("1.38", places=("track", "rib")))
    assert moved.is_place_changed


@pytest.mark.parametrize(
    ("old", "new", "is_finding"),
    [
        ("1.38", "2.50", True),
        ("1.38", "2.40", False),  # worse, and still within
        ("2.60", "2.90", False),  # failed before
        ("1.38", "", True),
        ("", "2.90", False),  # nothing to have got worse from
    ],
)
def test_findings(old: str, new: str, is_finding: bool) -> None:
    assert compare_point("SW-01", seen(old), seen(new)).is_finding is is_finding


def test_points_come_in_the_old_order_then_the_new_ones() -> None:
    old = [seen("1.0", point=point) for point in ("B", "A")]
    new = [seen("1.0", point=point) for point in ("C", "A", "D")]
    assert [each.point for each in compare(old, new)] == ["B", "A", "C", "D"]


# --- whatever the surveys -----------------------------------------------------------------

_SWAPPED = {
    Change.WORSE: Change.BETTER,
    Change.BETTER: Change.WORSE,
    Change.MISSING: Change.NEW,
    Change.NEW: Change.MISSING,
}


@given(surveys())
def test_a_survey_compared_with_itself_finds_nothing(survey: list[Seen]) -> None:
    found = compare(survey, survey)
    assert {each.change for each in found} <= {Change.SAME, Change.UNREAD}
    assert not any(each.is_finding or each.is_limit_changed or each.is_place_changed for each in found)
    assert [each.evidence is None for each in found] == [point.reading is None for point in survey]


@given(surveys(), surveys())
def test_swapping_the_surveys_swaps_worse_and_better(old: list[Seen], new: list[Seen]) -> None:
    there = {each.point: each for each in compare(old, new)}
    back = {each.point: each for each in compare(new, old)}
    assert there.keys() == back.keys()
    for point, each in there.items():
        assert back[point].change is _SWAPPED.get(each.change, each.change)
        _assert_evidence_swapped(each, back[point])


def _assert_evidence_swapped(there: Difference, back: Difference) -> None:
    if there.evidence is None:
        assert back.evidence is None
        return
    assert back.evidence is not None
    assert back.evidence.difference == -there.evidence.difference
    assert (back.evidence.allowed, back.evidence.e_n) == (there.evidence.allowed, there.evidence.e_n)


@given(surveys(), surveys())
def test_each_word_keeps_its_promise(old: list[Seen], new: list[Seen]) -> None:
    for each in compare(old, new):
        was = each.old.reading if each.old else None
        now = each.new.reading if each.new else None
        assert (was is not None and now is not None) is (each.evidence is not None)
        if each.change is Change.SAME:
            assert was is not None and now is not None and each.evidence is not None
            assert was.verdict is now.verdict and not each.evidence.is_real
        if was and now and was.verdict is Verdict.PASS and now.verdict is Verdict.FAIL:
            assert each.change is not Change.BETTER or each.is_limit_changed
            assert each.is_finding
