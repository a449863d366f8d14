"""Verdicts on takes of one reading, each worked out once: crews read few values, many times over."""

from __future__ import annotations

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.measurement.voltage import VoltageReading
from fieldtui.core.plan.route import Limit, Point
from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import STATES, Conditions, judge_take, limit_for
from fieldtui.core.verdict.judging import Verdict

Said = tuple[Resistance, Verdict, State]  # what was said of a reading, and what it makes of its point


class SingleVerdicts:
    """What is said of single readings at points that all judge alike."""

    __slots__ = ("_conditions", "_point", "_retest", "_said")

    def __init__(self, point: Point, conditions: Conditions, *, retest: bool) -> None:
        """``point`` is any of these points; it wants one reading, in ohm."""
        self._point = point
        self._conditions = conditions
        self._retest = retest
        # By the reading's identity and not by its value: 1.5 and 1.50 are equal, and the second is the
        # more certain. The reading is kept beside what was said, so that its identity stays its own.
        self._said: dict[int, Said] = {}

    def of(self, reading: Resistance) -> Said | None:
        """What is said of a reading; None of a voltage, which has no place at such a point."""
        said = self._said.get(id(reading))
        if said is None and not isinstance(reading, VoltageReading):
            verdict = judge_take(self._point, [reading], retest=self._retest, conditions=self._conditions)
            said = self._said[id(reading)] = (reading, verdict, STATES[verdict])
        return said


class JudgedReadings:
    """What was said of single readings under the same conditions, by limits that live as long as this."""

    __slots__ = ("_by_identity", "_by_limit", "_conditions")

    def __init__(self, conditions: Conditions) -> None:
        self._conditions = conditions
        self._by_limit: dict[Limit, SingleVerdicts] = {}
        self._by_identity: dict[int, SingleVerdicts] = {}  # of the limit; equal ones share theirs

    def at(self, point: Point, *, retest: bool) -> SingleVerdicts:
        """The verdicts at ``point``, which wants one reading, in ohm."""
        if point.correct_to_20:  # the limit alone does not say
            return SingleVerdicts(point, self._conditions, retest=retest)
        limit = limit_for(point, retest=retest)
        found = self._by_identity.get(id(limit))
        if found is None:
            found = self._by_limit.setdefault(limit, SingleVerdicts(point, self._conditions, retest=retest))
            self._by_identity[id(limit)] = found
        return found
