"""Short hints for a crew's first sessions: each goes away once it was acted upon, or seen a few times.

Pure: where the count is kept between sessions is no matter here, and nothing of it is in a session.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import Enum

from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail.events import NumberChecked, RedoAsked, Reworked

MOST_TIMES = 3  # a hint is seen no more often than this


class Moment(Enum):
    """When a hint is in place; the value is its name where counts are kept."""

    BRIEF = "brief"
    FIRST_READING = "first reading"
    NUMBER_CHECK = "number check"
    FAILED = "failed"
    DOUBT = "doubt"
    DRIFT = "drift"
    MEMORY = "memory"
    CLOSE_OUT = "close-out"


WORDS: Mapping[Moment, str] = {  # each fits one line of 80 columns
    Moment.BRIEF: "Enter: next line. Digits choose. Below stands what still blocks.",
    Moment.FIRST_READING: "type the value as called, 1.38, and Enter. / lists every action.",
    Moment.NUMBER_CHECK: "ask for the meter's last number; c, the number, Enter.",
    Moment.FAILED: "the walk goes on. t: taken again. z: repaired or cleaned, then retested.",
    Moment.DOUBT: "have it read again, and key what is read now. Esc: not recorded.",
    Moment.DRIFT: "ask the prober what happened. The arrow says what would change.",
    Moment.MEMORY: "reconcile before the memory is cleared: afterwards nobody can.",
    Moment.CLOSE_OUT: "what is to do comes first. The digits settle the marked line.",
}


@dataclass(frozen=True, slots=True)
class Hint:
    """A short hint beside the walk, or over something that it asks."""

    words: str


@dataclass(frozen=True, slots=True)
class Hints:
    """What this crew has seen and done. ``seen`` counts by moment; ``now`` is the one on the walk."""

    seen: Mapping[Moment, int] = field(default_factory=dict)
    done: frozenset[Moment] = frozenset()
    now: Moment | None = None

    def is_wanted(self, moment: Moment) -> bool:
        """Whether the hint is still to be shown."""
        return moment not in self.done and self.seen.get(moment, 0) < MOST_TIMES

    def shown(self, moment: Moment) -> Hints:
        """The hint was shown once more."""
        return replace(self, seen={**self.seen, moment: self.seen.get(moment, 0) + 1})

    def acted(self, moment: Moment) -> Hints:
        """What the hint is about was done: it is not shown again."""
        now = None if self.now is moment else self.now
        return replace(self, done=self.done | {moment}, now=now)

    def after(self, survey: Survey) -> Hints:
        """The hints once the walk stands like this: one is in place, or none."""
        hints = self
        for moment in _acted_upon(survey):
            if moment not in hints.done and hints.seen.get(moment, 0):
                hints = hints.acted(moment)
        moment_now = _moment_of(survey)
        if moment_now is hints.now:
            return hints
        if moment_now is None or not hints.is_wanted(moment_now):
            return replace(hints, now=None)
        return replace(hints.shown(moment_now), now=moment_now)


def _moment_of(survey: Survey) -> Moment | None:
    if not survey.records:
        return Moment.FIRST_READING if survey.here is not None else None
    if survey.check_due:
        return Moment.NUMBER_CHECK
    (last,) = survey.last_records(1)
    return Moment.FAILED if last.is_valid and last.verdict.is_failed else None


def _acted_upon(survey: Survey) -> list[Moment]:
    """The moments that the last row and the readings so far have answered."""
    last = survey.recent[-1] if survey.recent else ""
    answered = [Moment.FIRST_READING] if survey.records else []
    if last == NumberChecked.kind:
        answered.append(Moment.NUMBER_CHECK)
    if last == RedoAsked.kind or Reworked.kind in survey.recent[-2:]:  # the walk then goes to its point
        answered.append(Moment.FAILED)
    return answered
