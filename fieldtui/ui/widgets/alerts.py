"""What wants attention before the next reading, worst first. Takes no room while there is nothing."""

from __future__ import annotations

from textual.content import Content
from textual.geometry import Size
from textual.reactive import reactive

from fieldtui.core.account.bracket import LAST_FAILED, readings_in_doubt, standard_due
from fieldtui.core.account.held_twice import held_twice
from fieldtui.core.plan.resolving import coarse_words
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.survey_view import SurveyView

NEARLY_FULL = 5  # readings


class Alerts(SurveyView):
    """The worst warnings, a line each; how many more there are, and the key that shows them."""

    DEFAULT_CSS = """
    Alerts { height: auto; }
    """

    _count = -1  # alerts at the last look

    beside: reactive[tuple[str, ...]] = reactive((), layout=True)  # what the survey itself cannot know
    drift: reactive[str] = reactive("", layout=True)  # what the drift watch spoke up about and nobody settled

    def watch_survey(self, survey: Survey | None) -> None:
        before, self._count = self._count, len(self._alerts(survey))
        if self._count != before:
            self.display = bool(self._count)
            self.refresh(layout=True)

    def watch_beside(self) -> None:
        self.display = bool(self._alerts(self.survey))

    def watch_drift(self) -> None:
        self.display = bool(self._alerts(self.survey))

    @property
    def standing(self) -> list[str]:
        """Every warning that stands, worst first, also those there is no line for."""
        return self._alerts(self.survey)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self._alerts(self.survey))

    def _alerts(self, survey: Survey | None) -> list[str]:
        return [] if survey is None else [*alerts_of(survey, self.drift), *self.beside]

    def draw(self, survey: Survey) -> Content:
        alerts = self._alerts(survey)
        height = max(1, self.size.height)
        width = max(1, self.size.width)  # one that went on in a second line would take another's place
        lines = [Content(" ! ") + shown(alert) for alert in alerts[:height]]
        said = [line.truncate(width, ellipsis=True) for line in lines]
        if len(alerts) > height:
            more = Content(f" (+{len(alerts) - height}: F1)")
            room = max(1, width - more.cell_length)
            said[-1] = said[-1].truncate(room, ellipsis=True) + more
        return Content("\n").join(said)


def alerts_of(survey: Survey, drift: str = "") -> list[str]:
    """The warnings that stand, worst first: what makes readings worthless before what only hinders.

    ``drift`` is what the drift watch spoke up about, where nobody has settled it.
    """
    failed, told = _of_meter(survey)
    alerts = [*failed]
    if survey.out_of_step:
        alerts.append("OUT OF STEP: the meter's number and the record's differ. c settles it.")
    alerts += [f"{held.words.capitalize()} d settles it." for held in held_twice(survey)]
    if drift:
        alerts.append(f"DRIFT not settled: {drift}. c asks again.")
    if survey.check_due and not survey.out_of_step:
        alerts.append(f"Number check due ({survey.check_due}): c, then the meter's number.")
    return [*alerts, *told, *_of_limit(survey), *_of_memory(survey)]


def _of_limit(survey: Survey) -> list[str]:
    """Whether the meter in use can tell what the point being probed is held to."""
    coarse = coarse_words([survey.here], survey.instrument) if survey.here is not None else ""
    return [f"Meter {coarse}."] if coarse else []


def _of_memory(survey: Survey) -> list[str]:
    run = survey.run
    if run is not None and run.is_full:
        return ["MEMORY FULL: f leads through read-out, reconciling and the next run."]
    if run is not None and run.room is not None and run.room <= NEARLY_FULL:
        return [f"Memory nearly full: room for {run.room}."]
    return []


def _of_meter(survey: Survey) -> tuple[list[str], list[str]]:
    """What a failed check says, and what is due."""
    due, doubts = standard_due(survey), readings_in_doubt(survey)
    in_doubt = f"{counted(len(doubts), 'reading')} in doubt: d" if doubts else ""
    if due == LAST_FAILED:
        return [f"METER NOT GOOD: g reads the check standard again. {in_doubt}".rstrip()], []
    told = [f"Check standard due ({due}): g reads it."] if due else []
    earlier = [f"An earlier check of the meter failed. {in_doubt}."] if doubts else []
    return [], [*told, *earlier]
