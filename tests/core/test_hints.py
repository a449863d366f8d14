"""Hints of the first sessions: in place when they help, gone once acted upon or seen a few times."""

from __future__ import annotations

from fieldtui.core.teaching.hints import MOST_TIMES, WORDS, Hints, Moment
from fieldtui.core.trail import events as ev
from tests.core.walks import Walk


def test_there_are_words_for_every_moment_and_they_fit_a_line() -> None:
    assert set(WORDS) == set(Moment)
    for words in WORDS.values():
        assert len("Hint: ") + len(words) + 2 <= 80  # with a blank at either end


def test_the_first_reading_takes_its_hint_away_for_good() -> None:
    walk = Walk("A", "B").start_run(1)
    hints = Hints().after(walk.survey)
    assert hints.now is Moment.FIRST_READING
    assert hints.after(walk.survey) is hints  # in place, it is counted once
    hints = hints.after(walk.read().survey)
    assert hints.now is None and Moment.FIRST_READING in hints.done
    assert Hints(hints.seen, hints.done).after(Walk("A").survey).now is None  # the next session


def test_a_hint_not_acted_upon_goes_after_a_few_sessions() -> None:
    hints = Hints()
    for _ in range(MOST_TIMES):
        hints = Hints(hints.seen, hints.done).after(Walk("A").survey)
        assert hints.now is Moment.FIRST_READING
    assert Hints(hints.seen, hints.done).after(Walk("A").survey).now is None


def test_a_number_check_that_is_due_has_its_hint_until_it_is_done() -> None:
    walk = Walk("A", "B", "C").start_run(1).read()
    hints = Hints().after(walk.survey)
    walk.skip()
    hints = hints.after(walk.survey)
    assert hints.now is Moment.NUMBER_CHECK
    walk.tell(ev.NumberChecked, run=1, number=1, verdict=ev.Agreement.AGREE, ref=1)
    hints = hints.after(walk.survey)
    assert hints.now is None and Moment.NUMBER_CHECK in hints.done


def test_a_failed_reading_has_its_hint_until_one_is_taken_again() -> None:
    walk = Walk("A", "B", "C").read("99")
    hints = Hints().after(walk.survey)
    assert hints.now is Moment.FAILED
    hints = hints.after(walk.redo("A").survey)
    assert Moment.FAILED in hints.done and hints.now is None


def test_what_was_never_hinted_at_is_not_taken_for_learned() -> None:
    walk = Walk("A", "B").start_run(1).read()
    walk.tell(ev.NumberChecked, run=1, number=1, verdict=ev.Agreement.AGREE, ref=1)
    assert Hints().after(walk.survey).done == frozenset()
