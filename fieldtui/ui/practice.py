"""The practice: the real screens on the demo workspace.

A lesson with a coach, or the whole demo walk with a prober who calls out from a script. ``--auto``
presses the script's keys itself, in the visible terminal or without one.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual import on
from textual.pilot import Pilot

from fieldtui.core.teaching.lesson import Said
from fieldtui.desk.clock import Clock
from fieldtui.desk.practice import Coach, LessonPlan, Script, ScriptedProber, Step, load_lesson, load_script
from fieldtui.desk.workspace import Workspace
from fieldtui.errors import WrongUseError
from fieldtui.ui.actions import KEY_NAMES
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.lesson_over import LessonOverDialog
from fieldtui.ui.screens.brief import BriefScreen
from fieldtui.ui.screens.walk import WalkScreen
from fieldtui.ui.widgets.coach import CoachStrip
from fieldtui.ui.widgets.entry_line import VALUE_STARTS, EntryLine

if TYPE_CHECKING:
    from fieldtui.desk.workspace import RouteFile

KEY_CODES = {character: code for code, character in KEY_NAMES.items() if len(character) == 1}
KEY_CODES |= {".": "full_stop", " ": "space"}
_SIZE = (80, 24)  # cells, where no terminal says otherwise
_PACE_S = 0.15  # between keys in a visible terminal, so that a person can follow
_LOOK_S = 0.01  # between two looks at the screen
_NAMED_KEYS = ("enter", "escape", "down")  # whatever else a script holds is typed
_PATIENCE = 1000  # looks before a step counts as stuck
_AT_THE_BRIEF = Said(
    "the brief", "", "it is filled in. Read the cautions: F3 says so. Then F5. Esc or q leaves."
)


@dataclass(frozen=True, slots=True)
class Practised:
    """How a practice ended: its session, if one was begun, and the step the script got stuck at."""

    folder: Path | None
    stuck_at: Step | None = None


def run_lesson(workspace: Workspace, clock: Clock) -> Coach:
    """Open the lesson; the coach that comes back knows what was learned.

    Raises:
        WrongUseError: there is no terminal to show it in.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise WrongUseError(
            "The practice wants a terminal", remedy="run it in one, or play it with: fieldtui practice --auto"
        )
    plan = load_lesson(workspace.disk)
    app = LessonApp(workspace, plan, clock)
    app.run(mouse=False)
    return app.coach


class LessonApp(FieldApp):
    """The application, at the brief of the lesson. Leaving the walk shows what was learned."""

    def __init__(self, workspace: Workspace, plan: LessonPlan, clock: Clock) -> None:
        self.coach = Coach(plan)
        super().__init__(
            workspace,
            clock,
            route=workspace.load_route(plan.route),
            prober=self.coach,
            suggested=plan.suggested_brief(workspace.tables().instruments[plan.brief["meter"]]),
            is_practice=True,
        )

    async def _show_brief(self, route: RouteFile) -> None:
        await super()._show_brief(route)
        await self.screen.mount(CoachStrip.over(_AT_THE_BRIEF))

    @on(WalkScreen.Left)
    @on(WalkScreen.Closed)
    def _lesson_left(self, event: WalkScreen.Left | WalkScreen.Closed) -> None:
        event.prevent_default()  # neither start screen nor review: the lesson ends here
        self.push_screen(LessonOverDialog(self.coach.learned, self.coach.left), lambda _: self.exit(0))


def run_practice(workspace: Workspace, clock: Clock, *, is_auto: bool, is_headless: bool) -> Practised:
    """Open the whole demo walk, or play it.

    Raises:
        WrongUseError: there is no terminal to show it in.
    """
    has_terminal = sys.stdin.isatty() and sys.stdout.isatty()
    if not is_auto and not has_terminal:
        raise WrongUseError(
            "The practice wants a terminal", remedy="run it in one, or play it with: fieldtui practice --auto"
        )
    script = load_script(workspace.disk)
    app = practice_app(workspace, script, clock)
    if not is_auto:
        app.run(mouse=False)
        return Practised(_practised(workspace))
    headless = is_headless or not has_terminal
    player = Player(script, pace_s=0 if headless else _PACE_S)
    app.run(mouse=False, headless=headless, size=_SIZE if headless else None, auto_pilot=player.play)
    return Practised(_practised(workspace), player.stuck_at)


def practice_app(workspace: Workspace, script: Script, clock: Clock) -> FieldApp:
    """The application, at the brief of the practice route."""
    return FieldApp(
        workspace,
        clock,
        route=workspace.load_route(script.route),
        prober=ScriptedProber(script),
        suggested=script.suggested_brief(workspace.tables().instruments[script.brief["meter"]]),
        is_practice=True,
    )


def _practised(workspace: Workspace) -> Path | None:
    return next((each.folder for each in workspace.sessions() if each.is_practice), None)


class Player:
    """Presses the keys of a script, each once the screen is done with the one before."""

    def __init__(self, script: Script, *, pace_s: float = 0) -> None:
        self._script = script
        self._pace_s = pace_s
        self._last = ""  # the key pressed last
        self.stuck_at: Step | None = None  # the step whose rows did not come

    async def play(self, pilot: Pilot[Any]) -> None:
        """The whole script, from the brief to the closed session; then the program is left."""
        try:
            await self.brief(pilot)
            for step in self._script.steps:
                if not await self.step(pilot, step):
                    self.stuck_at = step
                    break
        finally:
            pilot.app.exit(0)

    async def brief(self, pilot: Pilot[Any], before_begin: Callable[[], None] | None = None) -> None:
        """Say that the cautions were read and begin the walk."""
        await self._until(pilot, lambda: isinstance(pilot.app.screen, BriefScreen))
        await self._press(pilot, "f3")
        if before_begin is not None:
            before_begin()
        await self._press(pilot, "f5")
        await self._until(pilot, lambda: self._is_idle(pilot))

    async def step(self, pilot: Pilot[Any], step: Step) -> bool:
        """Press a step's keys; true once its rows are in the trail."""
        walk = next((each for each in pilot.app.screen_stack if isinstance(each, WalkScreen)), None)
        if walk is None:
            return False
        desk = walk.desk
        wanted = desk.rows + len(step.rows)
        # A value is called when the prober has gone on, and not on the heels of an answer.
        if self._last.isdecimal() and step.keys and step.keys[0][0] in VALUE_STARTS:
            await pilot.pause(EntryLine.ONE_NUMBER_S)
        for key in step.keys:
            for each in [key] if key in _NAMED_KEYS else key:
                await self._press(pilot, KEY_CODES.get(each, each))
        return await self._until(pilot, lambda: desk.rows == wanted)

    def _is_idle(self, pilot: Pilot[Any]) -> bool:
        """True where the next key counts at once."""
        return isinstance(pilot.app, FieldApp) and pilot.app.takes_keys

    async def _press(self, pilot: Pilot[Any], key: str) -> None:
        await self._until(pilot, lambda: self._is_idle(pilot))
        await pilot.press(key)
        self._last = key
        await pilot.pause(self._pace_s or None)

    async def _until(self, pilot: Pilot[Any], is_so: Callable[[], bool]) -> bool:
        for _ in range(_PATIENCE):
            if is_so():
                return True
            await pilot.pause(_LOOK_S)
        return is_so()
