"""What wants attention before the next reading, worst first. Takes no room while there is nothing."""

from __future__ import annotations

from textual.content import Content
from textual.geometry import Size
from textual.reactive import reactive

from fieldtui.core.account.bracket import LAST_FAILED, readings_in_doubt, standard_due
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.widgets.survey_view import SurveyView

NEARLY_FULL = 5  # readings


class Alerts(SurveyView):
    """The worst warning and how many more there are; all of them where there is room."""

    DEFAULT_CSS = """
    Alerts { height: auto; }
    """

    _count = -1  # alerts at the last look

    beside: reactive[tuple[str, ...]] = reactive((), layout=True)  # what the survey itself cannot know

    def watch_survey(self, survey: Survey | None) -> None:
        before, self._count = self._count, len(self._alerts(survey))
        if self._count != before:
            self.display = bool(self._count)
            self.refresh(layout=True)

    def watch_beside(self) -> None:
        self.display = bool(self._alerts(self.survey))

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self._alerts(self.survey))

    def _alerts(self, survey: Survey | None) -> list[str]:
        return [] if survey is None else [*alerts_of(survey), *self.beside]

    def draw(self, survey: Survey) -> Content:
        alerts = self._alerts(survey)
        height = max(1, self.size.height)
        said = [f" ! {alert}" for alert in alerts[:height]]
        if len(alerts) > height:
            said[-1] += f" (+{len(alerts) - height})"
        return Content("\n").join(Content(alert) for alert in said)


def alerts_of(survey: Survey) -> list[str]:
    """The warnings that stand, worst first."""
    alerts = []
    run = survey.run
    if survey.out_of_step:
        alerts.append("OUT OF STEP: the meter's number and the record's differ. c settles it.")
    if run is not None and run.is_full:
        alerts.append("MEMORY FULL: f leads through read-out, reconciling and the next run.")
    elif run is not None and run.room is not None and run.room <= NEARLY_FULL:
        alerts.append(f"Memory nearly full: room for {run.room}.")
    alerts += _of_meter(survey)
    if survey.check_due and not survey.out_of_step:
        alerts.append(f"Number check due ({survey.check_due}): c, then the meter's number.")
    return alerts


def _of_meter(survey: Survey) -> list[str]:
    due, doubts = standard_due(survey), readings_in_doubt(survey)
    in_doubt = f"{len(doubts)} in doubt: d lists them" if doubts else ""
    if due == LAST_FAILED:
        return [f"METER NOT GOOD: g reads the check standard again. {in_doubt}".rstrip()]
    told = [f"Check standard due ({due}): g reads it."] if due else []
    return [*told, f"An earlier check of the meter failed. {in_doubt}."] if doubts else told
