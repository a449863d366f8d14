"""The keys of a screen in a line or two, from the table of actions."""

from __future__ import annotations

from textual.binding import Binding
from textual.content import Content
from textual.widget import Widget

from fieldtui.ui.actions import ScreenName, actions_of, key_name

MAX_LINES = 2


class KeyLines(Widget):
    """The keys that the table shows in the footer; key and label are never parted at a line's end."""

    DEFAULT_CSS = """
    KeyLines { height: auto; background: $panel; padding: 0 1; }
    """

    def __init__(self, screen: ScreenName) -> None:
        super().__init__()
        self.screen_name = screen

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        return len(key_lines(self.screen_name, width))

    def render(self) -> Content:
        return Content("\n").join(key_lines(self.screen_name, self.content_size.width))


class KeyBar(KeyLines):
    """Of a screen whose actions are bound to its keys; the palette offers them too."""


class KeyHints(KeyLines):
    """Of a page that reads its keys itself."""


def key_lines(screen: ScreenName, width: int) -> list[Content]:
    """``s skip  t take again …`` in lines of at most ``width`` cells; what is over is in help."""
    lines: list[Content] = []
    for action in actions_of(screen):
        if not action.in_footer:
            continue
        key = Content.styled(key_name(action.keys[0]), "bold reverse")
        part = key + Content(f" {action.label}")
        longer = lines[-1] + Content("  ") + part if lines else part
        if lines and longer.cell_length <= width:
            lines[-1] = longer
        else:
            lines.append(part)
    return lines[:MAX_LINES]


def bindings_of(screen: ScreenName, method: str = "{name}") -> list[Binding]:
    """Key bindings of a screen; ``method`` is the form of the toolkit's action string."""
    return [
        Binding(",".join(action.keys), method.format(name=action.name), action.label, show=False)
        for action in actions_of(screen)
    ]
