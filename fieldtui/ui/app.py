"""The application: which screen follows which, and nothing else."""

from __future__ import annotations

import asyncio
import signal
import sys
from collections.abc import Callable, Coroutine, Iterable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Protocol, runtime_checkable

from rich.text import Text
from textual import on
from textual.app import SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen

from fieldtui.core.text import visible
from fieldtui.errors import FieldtuiError, SessionInUseError
from fieldtui.ui.held_keys import KeyedApp
from fieldtui.ui.palette import ActionCommands
from fieldtui.ui.screens.start import StartScreen
from fieldtui.ui.shown import shown_line
from fieldtui.ui.themes import LIGHTS, light_after
from fieldtui.ui.writer import Writer

# The start screen is painted first; what the other screens stand on is imported by the method that wants
# it. Their messages are answered by name (on_walk_screen_left), as the toolkit provides for.
if TYPE_CHECKING:
    from fieldtui.core.survey.brief import Brief
    from fieldtui.desk.clock import Clock
    from fieldtui.desk.hinting import HintBook
    from fieldtui.desk.reading import ReadSession
    from fieldtui.desk.session_desk import Desk
    from fieldtui.desk.workspace import RouteFile, Workspace
    from fieldtui.ui.dialogs.blind import KeyedList
    from fieldtui.ui.hinting import HintedWalk
    from fieldtui.ui.screens.brief import BriefScreen
    from fieldtui.ui.screens.review import ReviewScreen
    from fieldtui.ui.screens.walk import WalkScreen
    from fieldtui.ui.widgets.coach import Prober


@runtime_checkable
class Writing(Protocol):
    """A screen that has a session open for writing."""

    desk: Desk

    async def leave_safely(self) -> None:
        """Let what is on its way reach the disk, then let the session go."""


class FieldApp(KeyedApp[int]):
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
        remarks: Path | None = None,
        hints: Callable[[], HintBook] | None = None,
    ) -> None:
        super().__init__()
        self._workspace = workspace
        self._clock = clock
        self._first = (route, desk, session)
        self._prober = prober
        self._suggested = suggested
        self._is_practice = is_practice
        self._make_hints = hints  # None: none are shown
        self._hints: HintBook | None = None  # once the first screen that has any is opened
        self._remarks = remarks  # where reviewers' remarks are kept, None for beside the session
        self._disk_thread = Writer()
        self._keyed_lists: dict[Path, dict[int, KeyedList]] = {}  # see WalkMemory, by session
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
            self.push_screen(self._walk_of(desk))
        elif session is not None:
            self.push_screen(self._review_of(session))
        else:
            self.push_screen(StartScreen(self._workspace))

    def on_unmount(self) -> None:
        if self._hints is not None:
            self._hints.save()
        self._disk_thread.close()

    # --- from the start screen ------------------------------------------------------------

    @on(StartScreen.Listed)
    async def _load_screens(self) -> None:
        """While the crew chooses, read what a walk stands on, so that Enter need not wait for it."""
        self.run_worker(self._disk_thread.do(_load_screens))

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
        from fieldtui.desk.opening import begin_session
        from fieldtui.ui.screens.brief import BriefScreen
        from fieldtui.ui.widgets.coach import CoachStrip

        tables = await self._disk_thread.do(self._workspace.tables)
        self._begin = partial(
            begin_session, self._workspace, route, clock=self._clock, practice=self._is_practice
        )
        today = self._clock.wall().date()
        brief = BriefScreen(route.route, tables, today, suggested=self._suggested)
        await self.push_screen(brief)
        for warning in await self._disk_thread.do(self._workspace.warnings):
            self.notify(visible(warning), severity="warning", timeout=20, markup=False)
        if (hint := self._hinted()) is not None and (said := hint.on_brief()):
            await brief.mount(CoachStrip.over(said))

    async def _resume(self, folder: Path) -> None:
        from fieldtui.desk.opening import resume_session

        try:
            desk = await self._disk_thread.do(resume_session, self._workspace, folder, self._clock)
        except SessionInUseError as error:
            from fieldtui.ui.dialogs.in_use import InUseDialog

            if await self.push_screen_wait(InUseDialog(error)):
                await self._show_review(folder)
            return
        await self.push_screen(self._walk_of(desk))

    async def _reopen(self, folder: Path) -> None:
        from fieldtui.desk.opening import reopen_session
        from fieldtui.ui.dialogs.reopen import ReopenDialog

        session = await self._read(folder)
        answers = await self.push_screen_wait(ReopenDialog(session.facts, session.seal, session.rows))
        if answers is not None:
            reason, by = answers
            desk = await self._disk_thread.do(
                reopen_session, self._workspace, folder, self._clock, reason, by
            )
            await self.push_screen(self._walk_of(desk))

    async def _show_review(self, folder: Path) -> None:
        await self.push_screen(self._review_of(await self._read(folder)))

    async def _read(self, folder: Path) -> ReadSession:
        from fieldtui.desk.reading import read_session

        return await self._disk_thread.do(read_session, self._workspace.disk, folder)

    def _walk_of(self, desk: Desk) -> WalkScreen:
        from fieldtui.ui.screens.walk import WalkScreen

        walk = WalkScreen(desk, prober=self._prober or self._hinted())
        walk.keyed_lists = self._keyed_lists.setdefault(desk.folder, {})
        return walk

    def _hinted(self) -> HintedWalk | None:
        """The hints of the first sessions, where they are wanted."""
        if self._make_hints is None:
            return None
        from fieldtui.ui.hinting import HintedWalk

        self._hints = self._hints or self._make_hints()
        return HintedWalk(self._hints)

    def _review_of(self, session: ReadSession) -> ReviewScreen:
        from fieldtui.desk.earlier import earlier_of
        from fieldtui.desk.remarks import RemarkDesk
        from fieldtui.ui.screens.review import ReviewScreen

        remarks = RemarkDesk(self._workspace.disk, session, self._clock, self._remarks)
        return ReviewScreen(session, remarks, partial(earlier_of, self._workspace, session))

    # --- from brief and walk --------------------------------------------------------------

    def on_brief_screen_briefed(self, event: BriefScreen.Briefed) -> None:
        if self._begin is not None:
            begin, self._begin = self._begin, None  # Enter twice begins one session
            self._open(self._begin_walk(begin, event.brief))

    async def _begin_walk(self, begin: Callable[[Brief], Desk], brief: Brief) -> None:
        try:
            desk = await self._disk_thread.do(begin, brief)
        except FieldtuiError:
            self._begin = begin  # the brief stays and can be answered again
            raise
        if (hint := self._hinted()) is not None:
            hint.briefed()
        await self.switch_screen(self._walk_of(desk))

    def on_walk_screen_closed(self, event: WalkScreen.Closed) -> None:
        self._open(self._review_closed(event.folder))

    async def _review_closed(self, folder: Path) -> None:
        await self.switch_screen(self._review_of(await self._read(folder)))

    async def on_start_screen_left(self) -> None:
        left = self.screen
        await self.pop_screen()
        if len(self.screen_stack) == 1:  # only the toolkit's empty screen is left
            self.exit(0, message=self._way_back(left))

    on_brief_screen_left = on_walk_screen_left = on_review_screen_left = on_start_screen_left

    # --- everywhere -----------------------------------------------------------------------

    async def action_leave_program(self, code: int = 0) -> None:
        """Leave from anywhere; what is on its way to the disk gets there first."""
        said: Text | None = None
        for screen in self.screen_stack:
            if isinstance(screen, Writing):
                await screen.leave_safely()
                said = self._way_back(screen)
        self.exit(code, message=said)

    def _way_back(self, screen: Screen[object]) -> Text | None:
        """What is said once the terminal is as it was: how a session that was left open is resumed."""
        import shlex  # the first paint waits for nothing it does not show

        if not isinstance(screen, Writing) or screen.desk.survey.closed:
            return None
        folder = screen.desk.folder
        is_here = self._workspace.sessions_folder.resolve() == (Path.cwd() / "sessions").resolve()
        name = shlex.quote(folder.name if is_here else str(folder.resolve()))
        survey = screen.desk.survey
        where = f" at {survey.here.id}" if survey.here is not None else ""
        return shown_line(f"The session is open{where}. To go on:\n  fieldtui resume {name}")

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
        self.run_worker(self._or_tell(work, self.hold_keys()))

    async def _or_tell(self, work: Coroutine[None, None, None], held: Screen[object]) -> None:
        """Do the work; where it fails, say what and what to do, and stay. Keys wait meanwhile."""
        try:
            await work
        except FieldtuiError as error:
            self.forget_keys()
            found = [f"{problem.where}: {problem.what}" for problem in error.further[:5]]
            parts = (error.what, error.where, *found, error.remedy)
            words = "\n".join(visible(part) for part in parts if part)
            self.notify(words, severity="error", timeout=20, markup=False)
            if len(self.screen_stack) == 1:
                self.exit(2, message=shown_line(words))
        finally:
            self.release_keys(held)


def _load_screens() -> None:
    """Import what a walk begins with. Review waits until it is wanted: a crew at work seldom does."""
    import fieldtui.ui.screens.brief
    import fieldtui.ui.screens.walk  # noqa: F401


def run_start(workspace: Workspace, clock: Clock, hints: Callable[[], HintBook] | None = None) -> int:
    """The start screen; returns the exit code."""
    return _run(FieldApp(workspace, clock, hints=hints))


def run_walk(
    workspace: Workspace, route: RouteFile, clock: Clock, hints: Callable[[], HintBook] | None = None
) -> int:
    """The brief for a route, then its walk."""
    return _run(FieldApp(workspace, clock, route=route, hints=hints))


def run_resumed(
    workspace: Workspace, desk: Desk, clock: Clock, hints: Callable[[], HintBook] | None = None
) -> int:
    """The walk of a session that is open for writing."""
    return _run(FieldApp(workspace, clock, desk=desk, hints=hints))


def run_review(workspace: Workspace, session: ReadSession, clock: Clock, remarks: Path | None = None) -> int:
    """A session, read-only; ``remarks`` is where a reviewer's are kept when not beside it."""
    return _run(FieldApp(workspace, clock, session=session, remarks=remarks))


def _run(app: FieldApp) -> int:
    code = app.run(mouse=False)  # keys alone; the terminal keeps its own way to mark and copy text
    return code if code is not None else app.return_code or 0
