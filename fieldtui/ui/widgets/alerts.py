"""What wants attention before the next reading, worst first. Takes no room while there is nothing."""

from __future__ import annotations

from textual.content import Content
from textual.geometry import Size

from fieldtui.core.survey import Survey
from fieldtui.ui.widgets.survey_view import SurveyView

NEARLY_FULL = 5  # readings


class Alerts(SurveyView):
    """The worst warning and how many more there are; all of them where there is room."""

    DEFAULT_CSS = """
    Alerts { height: auto; }
    """

    def watch_survey(self, survey: Survey | None) -> None:
        self.display = survey is not None and bool(alerts_of(survey))

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return 0 if self.survey is None else len(alerts_of(self.survey))

    def draw(self, survey: Survey) -> Content:
        alerts = alerts_of(survey)
        height = max(1, self.size.height)
        shown = [f" ! {alert}" for alert in alerts[:height]]
        if len(alerts) > height:
            shown[-1] += f" (+{len(alerts) - height})"
        return Content("\n").join(Content(alert) for alert in shown)


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
    if survey.check_due and not survey.out_of_step:
        alerts.append(f"Number check due ({survey.check_due}): c, then the meter's number.")
    return alerts
