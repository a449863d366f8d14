"""The real screens over poisoned data: ``python -m tests.crash.hostile_app SCREEN PAYLOAD FOLDER``.

PAYLOAD is ``controls``, ``markup`` or ``none``. What reaches the terminal is for the caller to look at.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from fieldtui.core.between.trend import Sample
from fieldtui.core.remarks import Place, Remark, Since
from fieldtui.core.survey.survey import fold
from fieldtui.desk.earlier import Earlier, samples_of
from fieldtui.desk.reading import ReadSession
from fieldtui.desk.remarks import Entry, RemarkDesk, Remarks
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import RouteEntry, SessionEntry, Workspace
from fieldtui.errors import Problem
from fieldtui.files.disk import Disk
from fieldtui.files.route.file import RouteFile
from fieldtui.ui.app import FieldApp
from fieldtui.ui.screens.review import ReviewScreen
from tests.crash.poison import CONTROLS, MARKUP, poisoned
from tests.desk.scenes import START, Scene
from tests.ui.review_fixtures import Story, route_of, tables_of

PAYLOADS = {"controls": CONTROLS, "markup": MARKUP, "none": ""}


def story(payload: str, ago: timedelta = timedelta(0)) -> Story:
    """A survey in which everything happens that has a text."""
    from fieldtui.core.trail import events as ev

    route = poisoned(route_of(), payload)
    ids = [point.id for point in route.points]
    told = Story(route, instrument=poisoned(Story().instrument, payload), by=f"{payload}Ana")
    told.time -= ago
    told.brief(battery="old").tell(ev.RunStarted, run=1, number=1, reason=f"{payload}new")
    told.read(ids[0], "9.38", reason=f"{payload}read again")
    told.tell(ev.Skipped, point=ids[1], reason=f"{payload}paint", note=f"{payload}note")
    told.read(ids[2], "1.2").tell(ev.Voided, ref=2, point=ids[2], reason=f"{payload}clip")
    told.tell(ev.Noted, point=ids[2], note=f"{payload}a remark")
    told.tell(ev.AttemptFailed, point=ids[2], reason=f"{payload}unstable")
    told.tell(ev.Recovered, ref=f"{payload}torn.bin", note=f"{payload}12 bytes")
    told.tell(ev.Opened, note=f"{payload}fieldtui 0")
    return told


class PoisonedWorkspace(Workspace):
    """Lists entries whose texts are hostile."""

    payload = ""

    def routes(self) -> list[RouteEntry]:
        trouble = f"{self.payload}trouble"
        entries = [
            RouteEntry("r", Path("r.toml"), "title", 3),
            RouteEntry("q", Path("q.toml"), "q", 0, trouble),
        ]
        return [replace(poisoned(each, self.payload), path=each.path) for each in entries]

    def sessions(self) -> list[SessionEntry]:
        made = SessionEntry(Path("s"), "id", "title", 1, 2, 3, False)
        closed = replace(made, is_closed=True, trouble="trouble")
        return [replace(poisoned(each, self.payload), folder=each.folder) for each in (made, closed)]


def remarks_on(payload: str, ids: list[str]) -> Remarks:
    """Remarks on a point, on the whole and one withdrawn, and a file that could not be read."""
    made = Remark(number=1, time=START, by="Ivo", text="look again", seal="0123", rows=3)
    about = Place(point=ids[0], record=1, row=3)
    entries = [
        Entry(Path("review-ivo.toml"), replace(poisoned(made, payload), about=place), gone, since)
        for place, gone, since in (
            (about, None, Since.OTHER),
            (Place(), None, Since.SAME),
            (about, poisoned(made, payload), Since.WENT_ON),
        )
    ]
    problem = Problem(f"{payload}what", f"{payload}remedy", f"{payload}file", 3, f"{payload}field")
    return Remarks(tuple(entries), (problem,))


def earlier_surveys(payload: str) -> Earlier:
    """Three surveys before, a year apart each."""
    samples: dict[str, list[Sample]] = {}
    for years in (3, 2, 1):
        told = story(payload, timedelta(days=365 * years))
        for sample in samples_of(told.session()):
            samples.setdefault(sample.seen.point, []).append(sample)
    return Earlier(samples, 3)


class PoisonedReview(FieldApp):
    """A review beside which there are hostile remarks and earlier surveys."""

    payload = ""

    def _review_of(self, session: ReadSession) -> ReviewScreen:
        remarks = RemarkDesk(Disk(), session, self._clock)
        found = remarks_on(self.payload, list(session.survey.order.ids))
        remarks.read = lambda: found  # type: ignore[method-assign]
        return ReviewScreen(session, remarks, lambda: earlier_surveys(self.payload))


def app_for(screen: str, payload: str, folder: Path) -> FieldApp:
    scene = Scene(folder)
    workspace = PoisonedWorkspace(folder, Disk())
    workspace.payload = payload
    if screen == "start":
        return FieldApp(workspace, scene.clock)
    told = story(payload)
    if screen in ("review", "story"):
        problem = Problem(f"{payload}what", f"{payload}remedy", f"{payload}file", 3, f"{payload}field")
        session = replace(told.session(problems=(problem,), torn=b"8,2026"), seal="0123")
        facts = replace(poisoned(session.facts, payload), route=told.route, instrument=told.instrument)
        app = PoisonedReview(workspace, scene.clock, session=replace(session, facts=facts))
        app.payload = payload
        return app
    if screen == "brief":
        tables = poisoned(tables_of(), payload)
        workspace.tables = lambda: tables  # type: ignore[method-assign]
        return FieldApp(workspace, scene.clock, route=RouteFile(told.route, {}, ()))
    return FieldApp(workspace, scene.clock, desk=desk_for(payload, scene))


def desk_for(payload: str, scene: Scene) -> Desk:
    """A real session's desk over poisoned facts."""
    told = story(payload)
    real = scene.begin()
    facts = poisoned(replace(real.session, route=route_of()), payload)
    survey = fold(told.route, facts.instrument, told.events)
    desk = Desk(replace(facts, route=told.route), real.folder, real._trail, survey, scene.clock)
    desk.recovered = f"{payload}recovered"
    return desk


def main() -> None:
    screen, payload, folder = sys.argv[1:4]
    app_for(screen, PAYLOADS[payload], Path(folder)).run()


if __name__ == "__main__":
    main()
