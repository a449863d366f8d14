"""Verdicts on takes of one reading, each worked out once: crews read few values, many times over."""

from __future__ import annotations

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.standing import Conditions, judge_take
from fieldtui.core.verdict.judging import Verdict

# By the reading's identity and not by its value: 1.5 and 1.50 are equal, and the second is the more
# certain. The reading is kept beside its verdict, so that its identity stays its own.
_Judged = dict[int, tuple[Resistance, Verdict]]


class JudgedReadings:
    """What was said of single readings under the same conditions, by limits that live as long as this."""

    __slots__ = ("_by_identity", "_by_limit", "_conditions")

    def __init__(self, conditions: Conditions) -> None:
        self._conditions = conditions
        self._by_limit: dict[Limit, _Judged] = {}
        self._by_identity: dict[int, _Judged] = {}  # of the limit; equal ones share theirs

    def verdict(self, point: Point, reading: Resistance, *, retest: bool) -> Verdict:
        """The verdict on a take of ``reading`` alone; the point wants no more than one."""
        if point.correct_to_20:  # the limit alone does not say
            return judge_take(point, [reading], retest=retest, conditions=self._conditions)
        limit = point.retest if retest and point.retest is not None else point.limit
        judged = self._by_identity.get(id(limit))
        if judged is None:
            judged = self._by_identity[id(limit)] = self._by_limit.setdefault(limit, {})
        known = judged.get(id(reading))
        if known is None:
            verdict = judge_take(point, [reading], retest=retest, conditions=self._conditions)
            known = judged[id(reading)] = (reading, verdict)
        return known[1]
