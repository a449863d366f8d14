"""The whole story of one point on one page, and of its neighbours by one key."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from fieldtui.report.point.story import PointStory, Stories
from fieldtui.ui.dialogs.help import HelpDialog
from fieldtui.ui.widgets.key_bar import KeyBar, bindings_of
from fieldtui.ui.widgets.review.story import (
    basis_lines,
    earlier_lines,
    happened_lines,
    standing_lines,
    story_head,
)

WIDE = 116  # cells from which on the two halves stand side by side


class _StoryScroll(VerticalScroll, inherit_bindings=False):
    """Scrolls up and down; left and right are for the neighbouring points."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "scroll_up", show=False),
        Binding("down", "scroll_down", show=False),
        Binding("pageup", "page_up", show=False),
        Binding("pagedown", "page_down", show=False),
        Binding("home", "scroll_home", show=False),
        Binding("end", "scroll_end", show=False),
    ]


class PointStoryPage(Screen[str]):
    """Reads ``points`` from the one at ``at``; its answer is the point it was left at."""

    CSS_PATH = "../styles/review.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("point_story")]
    AUTO_FOCUS = "#story-page"

    def __init__(self, stories: Stories, points: Sequence[str], at: int) -> None:
        super().__init__()
        self._stories = stories
        self._points = points
        self._at = at

    def compose(self) -> ComposeResult:
        yield Static(id="story-head", markup=False)
        with _StoryScroll(id="story-page"), Horizontal(id="story-halves"):
            yield Static(id="story-left", markup=False)
            yield Static(id="story-right", markup=False)
        yield KeyBar("point_story")

    def on_mount(self) -> None:
        self._tell()

    def on_resize(self) -> None:
        self._tell()

    def refresh_story(self) -> None:
        """Tell it again: the earlier surveys have been read meanwhile."""
        self._tell()

    def _tell(self) -> None:
        story = self._stories.tell(self._points[self._at])
        left, right = self.query_one("#story-left", Static), self.query_one("#story-right", Static)
        room = self.size.width - 4  # the page's padding and its scroll bar
        head = story_head(story, self._at, len(self._points), room)
        self.query_one("#story-head", Static).update(head)
        is_wide = self.size.width >= WIDE
        right.display = is_wide
        if is_wide:
            half = room // 2 - 1
            left.update(_page(half, story, standing_lines, basis_lines))
            right.update(_page(half, story, happened_lines, earlier_lines))
        else:
            parts = (standing_lines, happened_lines, basis_lines, earlier_lines)
            left.update(_page(room, story, *parts))

    # --- keys -----------------------------------------------------------------------------

    def action_next_point(self) -> None:
        self._go(1)

    def action_previous_point(self) -> None:
        self._go(-1)

    def _go(self, by: int) -> None:
        at = self._at + by
        if at not in range(len(self._points)):
            self.notify("This is the last point." if by > 0 else "This is the first point.", markup=False)
            return
        self._at = at
        self._tell()
        self.query_one("#story-page", VerticalScroll).scroll_home(animate=False)

    def action_leave(self) -> None:
        self.dismiss(self._points[self._at])

    def action_help(self) -> None:
        self.app.push_screen(HelpDialog("point_story"))


def _page(width: int, story: PointStory, *parts: Callable[[PointStory, int], list[Content]]) -> Content:
    return Content("\n").join([line for part in parts for line in part(story, width)])
