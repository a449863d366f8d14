"""The application: which screen follows which, and nothing else."""

from __future__ import annotations

import asyncio
import signal
import sys
from collections.abc import Callable, Coroutine, Iterable
from functools import partial
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen

from fieldtui.core.brief import Brief
from fieldtui.core.text import visible
from fieldtui.desk.clock import Clock
from fieldtui.desk.opening import begin_session, reopen_session, resume_session
from fieldtui.desk.reading import ReadSession, read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import RouteFile, Workspace
from fieldtui.errors import FieldtuiError
from fieldtui.ui.dialogs.reopen import ReopenDialog
from fieldtui.ui.palette import ActionCommands
from fieldtui.ui.screens.brief import BriefScreen
from fieldtui.ui.screens.review import ReviewScreen
from fieldtui.ui.screens.start import StartScreen
from fieldtui.ui.screens.walk import WalkScreen
from fieldtui.ui.screens.walk_stage import Prober
from fieldtui.ui.themes import LIGHTS, light_after
from fieldtui.ui.writer import Writer


class FieldApp(App[int]):
    """Shows the start screen, or at once the route, desk or session it is given.

    Whatever way it ends, a session that was being walked has been let go and can be resumed.
    The result is the exit code.
    """

    TITLE = "fieldtui"
    COMMANDS: ClassVar = {ActionCommands}
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+c,ctrl+q", "leave_program", "leave", show=False, priority=True),
        Binding("f2", "next_light", "light", show=False),
    ]

    def __init__(
        self,
        workspace: Workspace,
        clock: Clock,
        *,
        route: RouteFile | None = None,
        desk: Desk | None = None,
        session: ReadSession | None = None,
        prober: Prober | None = None,
        suggested: Brief | None = None,
        is_practice: bool = False,
    ) -> None:
        super().__init__()
        self._workspace = workspace
        self._clock = clock
        self._first = (route, desk, session)
        self._prober = prober
        self._suggested = suggested
        self._is_practice = is_practice
        self._disk_thread = Writer()
        self._begin: Callable[[Brief], Desk] | None = None  # what the brief on the screen leads to
        for theme in LIGHTS:
            self.register_theme(theme)
        self.theme = LIGHTS[0].name

    def on_mount(self) -> None:
        self._leave_when_told()
        route, desk, session = self._first
        if route is not None:
            self._open(self._show_brief(route))
        elif desk is not None:
            self.push_screen(WalkScreen(desk, prober=self._prober))
        elif session is not None:
            self.push_screen(ReviewScreen(session))
        else:
            self.push_screen(StartScreen(self._workspace))

    def on_unmount(self) -> None:
        self._disk_thread.close()

    # --- from the start screen ------------------------------------------------------------

    @on(StartScreen.RouteChosen)
    def _route_chosen(self, event: StartScreen.RouteChosen) -> None:
        self._open(self._load_route(event.path))

    @on(StartScreen.SessionChosen)
    def _session_chosen(self, event: StartScreen.SessionChosen) -> None:
        ways = {"resume": self._resume, "review": self._show_review, "reopen": self._reopen}
        self._open(ways[event.mode](event.folder))

    async def _load_route(self, path: Path) -> None:
        await self._show_brief(await self._disk_thread.do(self._workspace.load_route, str(path)))

    async def _show_brief(self, route: RouteFile) -> None:
        tables = await self._disk_thread.do(self._workspace.tables)
        self._begin = partial(
            begin_session, self._workspace, route, clock=self._clock, practice=self._is_practice
        )
        today = self._clock.wall().date()
        await self.push_screen(BriefScreen(route.route, tables, today, suggested=self._suggested))

    async def _resume(self, folder: Path) -> None:
        desk = await self._disk_thread.do(resume_session, self._workspace, folder, self._clock)
        await self.push_screen(WalkScreen(desk, prober=self._prober))

    async def _reopen(self, folder: Path) -> None:
        session = await self._disk_thread.do(read_session, self._workspace.disk, folder)
        answers = await self.push_screen_wait(ReopenDialog(session.facts, session.seal, session.rows))
        if answers is not None:
            reason, by = answers
            desk = await self._disk_thread.do(
                reopen_session, self._workspace, folder, self._clock, reason, by
            )
            await self.push_screen(WalkScreen(desk, prober=self._prober))

    async def _show_review(self, folder: Path) -> None:
        session = await self._disk_thread.do(read_session, self._workspace.disk, folder)
        await self.push_screen(ReviewScreen(session))

    # --- from brief and walk --------------------------------------------------------------

    @on(BriefScreen.Briefed)
    def _briefed(self, event: BriefScreen.Briefed) -> None:
        if self._begin is not None:
            begin, self._begin = self._begin, None  # Enter twice begins one session
            self._open(self._begin_walk(begin, event.brief))

    async def _begin_walk(self, begin: Callable[[Brief], Desk], brief: Brief) -> None:
        try:
            desk = await self._disk_thread.do(begin, brief)
        except FieldtuiError:
            self._begin = begin  # the brief stays and can be answered again
            raise
        await self.switch_screen(WalkScreen(desk, prober=self._prober))

    @on(WalkScreen.Closed)
    def _walk_closed(self, event: WalkScreen.Closed) -> None:
        self._open(self._review_closed(event.folder))

    async def _review_closed(self, folder: Path) -> None:
        session = await self._disk_thread.do(read_session, self._workspace.disk, folder)
        await self.switch_screen(ReviewScreen(session))

    @on(BriefScreen.Left)
    @on(WalkScreen.Left)
    @on(ReviewScreen.Left)
    @on(StartScreen.Left)
    async def _screen_left(self) -> None:
        await self.pop_screen()
        if len(self.screen_stack) == 1:  # only the toolkit's empty screen is left
            self.exit(0)

    # --- everywhere -----------------------------------------------------------------------

    async def action_leave_program(self, code: int = 0) -> None:
        """Leave from anywhere; what is on its way to the disk gets there first."""
        for screen in self.screen_stack:
            if isinstance(screen, WalkScreen):
                await screen.leave_safely()
        self.exit(code)

    def _leave_when_told(self) -> None:
        """Leave in order when the system ends the program, so that the terminal can be used afterwards.

        Where the terminal itself is gone there is nothing to put in order: SIGHUP keeps its effect.
        """
        if sys.platform != "win32" and not self.is_headless:  # Windows has no handlers of this kind
            ended = 128 + signal.SIGTERM  # as shells report it
            asyncio.get_running_loop().add_signal_handler(
                signal.SIGTERM, lambda: self._open(self.action_leave_program(ended))
            )

    def action_next_light(self) -> None:
        """Change between daylight, dim and night."""
        self.theme = light_after(self.theme)

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """None of the toolkit's own: the palette offers the actions of the table."""
        return ()

    def _open(self, work: Coroutine[None, None, None]) -> None:
        self.run_worker(self._or_tell(work))

    async def _or_tell(self, work: Coroutine[None, None, None]) -> None:
        """Do the work; where it fails, say what and what to do, and stay."""
        try:
            await work
        except FieldtuiError as error:
            found = [f"{problem.where}: {problem.what}" for problem in error.problems[:5]]
            parts = (error.what, error.where, *found, error.remedy)
            words = "\n".join(visible(part) for part in parts if part)
            self.notify(words, severity="error", timeout=20, markup=False)
            if len(self.screen_stack) == 1:
                self.exit(2, message=words)


def run_start(workspace: Workspace, clock: Clock) -> int:
    """The start screen; returns the exit code."""
    return _run(FieldApp(workspace, clock))


def run_walk(workspace: Workspace, route: RouteFile, clock: Clock) -> int:
    """The brief for a route, then its walk."""
    return _run(FieldApp(workspace, clock, route=route))


def run_resumed(workspace: Workspace, desk: Desk, clock: Clock) -> int:
    """The walk of a session that is open for writing."""
    return _run(FieldApp(workspace, clock, desk=desk))


def run_review(workspace: Workspace, session: ReadSession, clock: Clock) -> int:
    """A session, read-only."""
    return _run(FieldApp(workspace, clock, session=session))


def _run(app: FieldApp) -> int:
    code = app.run()
    return code if code is not None else app.return_code or 0
