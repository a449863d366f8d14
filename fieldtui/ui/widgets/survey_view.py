"""What every part of the walk that draws the survey has in common."""

from __future__ import annotations

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.core.survey.survey import Survey


class SurveyView(Widget):
    """Draws one survey; the screen hands it the next one after every event.

    A part whose height hangs on what it says asks for a new layout itself, where that changes: laying the
    screen out costs more than all that is drawn on it.
    """

    survey: reactive[Survey | None] = reactive(None, always_update=True)

    def render(self) -> Content:
        return Content("") if self.survey is None else self.draw(self.survey)

    def draw(self, survey: Survey) -> Content:
        """The survey as this part shows it, for the size it has now."""
        raise NotImplementedError
