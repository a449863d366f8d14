"""Hints on the walk: which words belong to what has opened over it."""

from __future__ import annotations

from collections.abc import Mapping

from fieldtui.core.survey.survey import Survey
from fieldtui.core.teaching.hints import Hint, Moment
from fieldtui.desk.hinting import HintBook

# By the class name of the dialog or page that is asked.
_OVER: Mapping[str, Moment] = {
    "StoppedDialog": Moment.DOUBT,
    "NumberDriftScreen": Moment.DRIFT,
    "MemoryStepDialog": Moment.MEMORY,
    "CloseOutScreen": Moment.CLOSE_OUT,
}


class HintedWalk:
    """Says the hints where a scripted prober would call out."""

    def __init__(self, book: HintBook) -> None:
        self._book = book

    def on_brief(self) -> Hint | str:
        """The hint over the brief, if it is still wanted."""
        words = self._book.once(Moment.BRIEF)
        return Hint(words) if words else ""

    def briefed(self) -> None:
        """The brief was answered."""
        self._book.acted(Moment.BRIEF)

    def calls(self, survey: Survey) -> Hint | str:
        """The hint in place, if one is."""
        words = self._book.on_walk(survey)
        return Hint(words) if words else ""

    def calls_over(self, survey: Survey, asked: str) -> Hint | str:
        """The hint for a dialog or page, if it has one that is still wanted."""
        moment = _OVER.get(asked)
        words = self._book.once(moment) if moment is not None else ""
        return Hint(words) if words else ""

    def answered(self, asked: str) -> None:
        """A dialog that was answered is understood."""
        if (moment := _OVER.get(asked)) is not None:
            self._book.acted(moment)
