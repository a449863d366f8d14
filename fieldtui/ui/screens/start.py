"""Start: open sessions to go on with, routes to walk, closed sessions to review."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import ClassVar, Literal

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static

from fieldtui.desk.workspace import Workspace
from fieldtui.ui.held_keys import KeyedPage, Pressed, page_changed
from fieldtui.ui.shown import shown
from fieldtui.ui.themes import light_after
from fieldtui.ui.widgets.key_bar import KeyBar, bindings_of
from fieldtui.ui.widgets.start_list import StartList
from fieldtui.ui.widgets.start_rows import Choice, Leads, Listing, list_workspace

Mode = Literal["resume", "review", "reopen"]

_EMPTY = (
    "There is nothing here yet.\n\n"
    "  Put route files into the folder routes/, one TOML file a route,\n"
    "  or leave with q and make a workspace that has some: fieldtui new DIR\n"
    "  To learn the keys on an invented survey: fieldtui practice"
)


class StartScreen(Screen[None], KeyedPage):
    """Lists the workspace again each time it comes to the front."""

    CSS_PATH = "../styles/start.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("start")]
    AUTO_FOCUS = "#start-list"

    class RouteChosen(Message):
        """A route is to be walked."""

        def __init__(self, path: Path) -> None:
            self.path = path
            super().__init__()

    class SessionChosen(Message):
        """A session is to be resumed, reviewed or reopened."""

        def __init__(self, folder: Path, mode: Mode) -> None:
            self.folder = folder
            self.mode = mode
            super().__init__()

    class Listed(Message):
        """The workspace is on the screen."""

    class Left(Message):
        """The program is to be left."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self._workspace = workspace
        self._is_listed = False

    def compose(self) -> ComposeResult:
        yield Static(shown(f"fieldtui   {self._workspace.root}", "bold"), id="start-title")
        yield Static(_EMPTY, id="start-empty", markup=False)
        yield StartList()
        yield Static(id="start-note", markup=False)
        yield KeyBar("start")

    @property
    def takes_keys(self) -> bool:
        return self._is_listed

    def wants_seen(self, event: Pressed) -> bool:
        """What acts on the choice under the cursor."""
        return isinstance(event, events.Key) and event.key in ("enter", "v", "o")

    def on_screen_resume(self) -> None:
        self.run_worker(self._list())

    async def _list(self) -> None:
        # What reads the files is imported once the screen is painted; not before the app has started.
        painted = asyncio.Event()
        self.app.call_later(self.call_after_refresh, painted.set)
        await painted.wait()
        # Off the screen's own thread: a workspace on a slow medium must not freeze the terminal.
        self.show(await asyncio.to_thread(list_workspace, self._workspace))
        self.post_message(self.Listed())

    def show(self, listing: Listing) -> None:
        """Put a listing on the screen."""
        self.query_one("#start-empty").display = not listing.groups
        entries = self.query_one(StartList)
        entries.display = bool(listing.groups)
        entries.show(listing)
        entries.focus()
        note = self.query_one("#start-note", Static)
        note.display = bool(listing.note)
        note.update(shown(f"! {listing.note}"))
        self._is_listed = True
        page_changed(self)

    def on_start_list_opened(self, event: StartList.Opened) -> None:
        event.stop()
        self._open(event.choice)

    def action_open(self) -> None:
        choice = self.query_one(StartList).chosen
        if choice is not None:
            self._open(choice)

    def action_review(self) -> None:
        choice = self.query_one(StartList).chosen
        if choice is not None and choice.leads is not Leads.WALK:
            self.post_message(self.SessionChosen(choice.path, "review"))
        else:
            self.app.bell()

    def action_reopen(self) -> None:
        choice = self.query_one(StartList).chosen
        if choice is not None and choice.leads is Leads.REVIEW and not choice.trouble:
            self.post_message(self.SessionChosen(choice.path, "reopen"))
        else:
            self.app.bell()

    def action_help(self) -> None:
        from fieldtui.ui.dialogs.help import HelpDialog  # the first paint waits for nothing it does not show

        self.app.push_screen(HelpDialog("start"))

    def action_theme(self) -> None:
        self.app.theme = light_after(self.app.theme)

    def action_leave(self) -> None:
        self.post_message(self.Left())

    def _open(self, choice: Choice) -> None:
        match choice.leads:
            case Leads.WALK:
                self.post_message(self.RouteChosen(choice.path))
            case Leads.RESUME:
                self.post_message(self.SessionChosen(choice.path, "resume"))
            case Leads.REVIEW:
                self.post_message(self.SessionChosen(choice.path, "review"))
