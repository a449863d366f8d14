"""The hints of a person's first sessions, and where they are kept between them."""

from __future__ import annotations

from pathlib import Path

from fieldtui.core.survey.survey import Survey
from fieldtui.core.teaching.hints import WORDS, Moment
from fieldtui.files.disk import Disk
from fieldtui.files.hints_file import load_hints, save_hints, state_folder


class HintBook:
    """What has been seen and done; kept by :meth:`save`, which never fails aloud."""

    def __init__(self, disk: Disk, folder: Path | None = None) -> None:
        self._disk = disk
        self._folder = folder or state_folder()
        self._was = self._hints = load_hints(disk, self._folder)

    def on_walk(self, survey: Survey) -> str:
        """The hint in place on the walk, empty where none is."""
        self._hints = self._hints.after(survey)
        return WORDS[self._hints.now] if self._hints.now is not None else ""

    def once(self, moment: Moment) -> str:
        """The hint for something that has just opened, empty where it is not wanted any more."""
        if not self._hints.is_wanted(moment):
            return ""
        self._hints = self._hints.shown(moment)
        return WORDS[moment]

    def acted(self, moment: Moment) -> None:
        """What the hint is about was done."""
        if self._hints.seen.get(moment, 0):
            self._hints = self._hints.acted(moment)

    def save(self) -> None:
        """Keep it for the next session, where anything has changed."""
        now = self._hints
        if (now.seen, now.done) != (self._was.seen, self._was.done):
            save_hints(self._disk, self._folder, now)
            self._was = now
