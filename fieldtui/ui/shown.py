"""The only way from data to a widget.

A plain string handed to a widget is read as markup, and control sequences in it would reach the
terminal. ``shown`` makes unsafe characters visible and hands over text without markup.
"""

from __future__ import annotations

from rich.text import Text
from textual.content import Content

from fieldtui.core.text import visible


def shown(text: object, style: str = "") -> Content:
    """``text`` as content for a widget, never read as markup."""
    return Content.styled(visible(str(text)), style) if style else Content(visible(str(text)))


def shown_line(text: str) -> Text:
    """Words for the terminal once the screens are gone, never read as markup; line ends stay."""
    return Text("\n".join(map(visible, text.split("\n"))), overflow="ignore", no_wrap=True)


def shown_cell(text: object, style: str = "") -> Text:
    """``text`` as a cell for a table."""
    return Text(visible(str(text)), style=style, no_wrap=True)
