"""Two surveys of the same points held against each other, and whether a difference is real.

Source: E_n as in ISO/IEC 17043:2023 and ISO 13528:2022, the difference over the root of the sum of
squares of both expanded uncertainties (k = 2); above 1 the difference is more than the two
measurements explain. The two are taken as independent: errors that one meter makes in both surveys
cancel in the difference, so with one meter the test errs towards "not real".

Where a meter states no accuracy its display is all there is: one step of it counts as its doubt
(common practice, no source), and the two doubts add.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from fieldtui.core.between.history import Reading, Seen
from fieldtui.core.measurement.uncertainty import combine_standards
from fieldtui.core.plan.route import Limit
from fieldtui.core.verdict.judging import Verdict, judge_ohms

COVERAGE = Decimal(2)


class Change(Enum):
    """What became of a point. The value is the word on screens; the order is that of listing."""

    MISSING = "missing"  # read in the old survey, not in the new one
    UNPROVEN = "not proven"  # in one of them it may have been read, in rows that prove nothing
    WORSE = "worse"  # passed and fails now, or a real difference towards or past the limit
    REPAIRED = "failed and repaired"  # passed, was found failed in the new survey and left reworked
    CHANGED = "changed"  # a real difference without a direction, or a verdict that the limit turned
    BETTER = "better"
    NEW = "new"  # read in the new survey only
    UNREAD = "not read"  # in neither
    SAME = "same"


@dataclass(frozen=True, slots=True)
class Evidence:
    """The difference of two readings and what two sound readings may differ by, in ohm."""

    difference: Decimal  # new minus old
    allowed: Decimal
    ratio: Decimal | None  # new over old; None where the old value is zero
    e_n: Decimal | None  # None where a meter states no accuracy

    @property
    def is_real(self) -> bool:
        return abs(self.difference) > self.allowed


@dataclass(frozen=True, slots=True)
class Difference:
    """One point in both surveys; None where a survey's route does not have it."""

    point: str
    old: Seen | None
    new: Seen | None
    change: Change
    evidence: Evidence | None = None  # where both have a reading

    @property
    def is_limit_changed(self) -> bool:
        """Whether the plan asks for another value now; a rework has its own limit and changes no plan."""
        old, new = self.old, self.new
        return old is not None and new is not None and _figures(old.planned) != _figures(new.planned)

    @property
    def is_place_changed(self) -> bool:
        """Whether A or B is worded otherwise: perhaps not the same two places."""
        return (
            self.old is not None
            and self.new is not None
            and (self.old.a, self.old.b) != (self.new.a, self.new.b)
        )

    @property
    def is_finding(self) -> bool:
        """Missing, or not proven, or fails now and did not before, or did until it was repaired."""
        if self.change in (Change.MISSING, Change.UNPROVEN, Change.REPAIRED):
            return True
        old, new = _reading(self.old), _reading(self.new)
        return old is not None and new is not None and new.verdict.is_failed and not old.verdict.is_failed


def compare(old: Iterable[Seen], new: Iterable[Seen]) -> list[Difference]:
    """Every point of either survey, matched by id: in the old one's order, then what only the new has."""
    was = {seen.point: seen for seen in old}
    now = {seen.point: seen for seen in new}
    return [compare_point(point, was.get(point), now.get(point)) for point in {**was, **now}]


def compare_point(point: str, old: Seen | None, new: Seen | None) -> Difference:
    """One point in both surveys."""
    was, now = _reading(old), _reading(new)
    if old is not None and new is not None and was is not None and now is not None:
        evidence = weigh(was, now)
        return Difference(point, old, new, _change(old, new, was, now, evidence), evidence)
    if any(seen is not None and seen.is_unproven and seen.reading is None for seen in (old, new)):
        return Difference(point, old, new, Change.UNPROVEN)
    if was is not None:
        return Difference(point, old, new, Change.MISSING)
    return Difference(point, old, new, Change.UNREAD if now is None else Change.NEW)


def weigh(old: Reading, new: Reading) -> Evidence:
    """The difference of two readings against their uncertainties."""
    difference = new.value.ohms - old.value.ohms
    ratio = new.value.ohms / old.value.ohms if old.value.ohms else None
    if old.standard is None or new.standard is None:
        return Evidence(difference, _doubt(old) + _doubt(new), ratio, None)
    allowed = COVERAGE * combine_standards([old.standard, new.standard])
    return Evidence(difference, allowed, ratio, abs(difference) / allowed if allowed else None)


def _doubt(reading: Reading) -> Decimal:
    return reading.step if reading.standard is None else COVERAGE * reading.standard


def _change(old: Seen, new: Seen, was: Reading, now: Reading, evidence: Evidence) -> Change:
    is_repaired = now.is_retest and now.has_failed and not now.verdict.is_failed
    if is_repaired and not was.verdict.is_failed and was.when < now.when:
        return Change.REPAIRED  # what it reads now says nothing of how it had become
    turn = _turn(old, new, was, now)
    if not turn and evidence.is_real:
        turn = _agreed(_leaning(seen.limit, was, now) for seen in (old, new))
    if turn:
        return Change.WORSE if turn > 0 else Change.BETTER
    return Change.CHANGED if evidence.is_real or was.verdict is not now.verdict else Change.SAME


def _turn(old: Seen, new: Seen, was: Reading, now: Reading) -> int:
    """1 where a pass became a fail, -1 the other way; a limit that changed turns nothing by itself."""
    if _same_limit(old, new):
        return _fails(now.verdict) - _fails(was.verdict)
    turns = {
        _fails(judge_ohms(seen.limit, now.value.ohms)) - _fails(judge_ohms(seen.limit, was.value.ohms))
        for seen in (old, new)
    }
    return sum(turns)


def _fails(verdict: Verdict) -> int:
    return int(verdict.is_failed)


def _agreed(leanings: Iterable[int]) -> int:
    found = set(leanings)
    return found.pop() if len(found) == 1 else 0


def _leaning(limit: Limit, was: Reading, now: Reading) -> int:
    """1 towards or past the limit, -1 away from it, 0 where there is none."""
    before, after = _past(limit, was.value.ohms), _past(limit, now.value.ohms)
    if before is None or after is None:
        return 0
    return (after > before) - (after < before)


def _past(limit: Limit, ohms: Decimal) -> Decimal | None:
    """How far past the nearer bound, in ohm; negative within."""
    past = []
    if limit.maximum is not None:
        past.append(ohms - limit.maximum.ohms)
    if limit.minimum is not None:
        past.append(limit.minimum.ohms - ohms)
    return max(past) if past and not limit.record_only else None


def _same_limit(old: Seen, new: Seen) -> bool:
    return _figures(old.limit) == _figures(new.limit)


def _figures(limit: Limit) -> tuple[object, ...]:
    """What of a limit can turn a verdict; where it was published cannot."""
    if limit.record_only or (limit.maximum is None and limit.minimum is None):
        return ()
    upper = (limit.maximum.ohms, limit.upper) if limit.maximum is not None else None
    lower = (limit.minimum.ohms, limit.lower) if limit.minimum is not None else None
    return upper, lower


def _reading(seen: Seen | None) -> Reading | None:
    return seen.reading if seen is not None else None
