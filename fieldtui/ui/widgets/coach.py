"""What a scripted prober calls out, a coach says, or a hint: a strip on the walk, and over what it asks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, runtime_checkable

from textual.content import Content
from textual.widgets import Static

from fieldtui.core.survey.survey import Survey
from fieldtui.core.teaching.hints import Hint
from fieldtui.ui.shown import shown

if TYPE_CHECKING:  # the lesson itself is none of a walk's business
    from fieldtui.core.teaching.lesson import Said

    Words = str | Said | Hint  # what a prober calls, a coach says, or a hint; an empty text is none


class Prober(Protocol):
    """Somebody, or a script, that probes and calls out."""

    def calls(self, survey: Survey) -> Words:
        """What the prober says now."""
        ...


@runtime_checkable
class Coaching(Prober, Protocol):
    """Somebody who has a word to say while something is asked, too."""

    def calls_over(self, survey: Survey, asked: str) -> Words:
        """What is said over the dialog or page with the class name ``asked``."""
        ...

    def answered(self, asked: str) -> None:
        """The dialog or page was answered, not left."""
        ...


class CoachStrip(Static):
    """The words as they stand. Takes no room while there are none."""

    DEFAULT_CSS = """
    CoachStrip { height: auto; background: $panel; padding: 0 1; }
    CoachStrip.-over { dock: top; }
    """

    _said: Words | None = None

    @classmethod
    def over(cls, said: Words) -> CoachStrip:
        """The strip over a dialog, a page or the brief."""
        strip = cls(classes="-over")
        strip.say(said)
        return strip

    def say(self, said: Words) -> None:
        """Show other words."""
        if said == self._said:  # laying the screen out anew costs more than all that is drawn on it
            return
        self._said = said
        self.display = bool(said)
        self.update(coach_words(said))


def coach_words(said: Words) -> Content:
    """What is called out, a hint, or a coach's words: what went astray before what is asked."""
    if isinstance(said, Hint):
        return Content.styled("Hint: ", "bold") + shown(said.words)
    if isinstance(said, str):
        return Content.styled("Prober: ", "bold") + shown(said)
    head, _, title = said.head.partition(": ")
    if said.aside:  # it takes the title's place: no more rows than the walk can spare
        lines = [Content.styled("LESSON  ", "bold") + shown(f"{head} ▸ ", "bold") + shown(said.aside)]
    else:
        lines = [Content.styled("LESSON  ", "bold") + shown(": ".join(filter(None, (head, title))), "bold")]
    if said.calls:
        lines.append(Content.styled("Prober: ", "bold") + shown(f"“{said.calls}”"))
    lines.append(Content.styled("You: ", "bold") + shown(said.press))
    return Content("\n").join(lines)
