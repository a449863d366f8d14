"""A sheet of character cells that charts are drawn on."""

from __future__ import annotations

from rich.cells import cell_len
from textual.content import Content

from fieldtui.core.text import visible


class Canvas:
    """``width`` by ``height`` cells, origin at the top left. What lies outside is not drawn."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = max(width, 1), max(height, 1)
        self._cells: list[list[tuple[str, str]]] = [[(" ", "")] * self.width for _ in range(self.height)]

    def put(self, x: int, y: int, text: str, style: str = "") -> None:
        """Write a text from a cell on; unsafe characters are made visible, wide ones take their two cells."""
        if not 0 <= y < self.height:
            return
        for character in visible(text):
            cells = cell_len(character)
            if cells == 0:  # a mark on the letter before
                self._mark(x - 1, y, character)
                continue
            if x >= 0 and x + cells <= self.width:
                self._cells[y][x] = (character, style)
                if cells == 2:
                    self._cells[y][x + 1] = ("", style)
            x += cells

    def _mark(self, x: int, y: int, mark: str) -> None:
        """Set a mark on the letter that ends in a cell; one on nothing is left out."""
        if 0 <= x < self.width and self._cells[y][x][0] == "":  # the second half of a wide one
            x -= 1
        if 0 <= x < self.width and self._cells[y][x][0] not in ("", " "):
            letter, style = self._cells[y][x]
            self._cells[y][x] = (letter + mark, style)

    def put_right(self, x: int, y: int, text: str, style: str = "") -> None:
        """Write a text that ends before cell ``x``."""
        self.put(x - cell_len(visible(text)), y, text, style)

    def is_free(self, x: int, y: int) -> bool:
        """Whether nothing was written into a cell yet."""
        return 0 <= x < self.width and 0 <= y < self.height and self._cells[y][x][0] == " "

    def lines(self) -> list[Content]:
        """The sheet line by line."""
        return [_line(row) for row in self._cells]


def _line(row: list[tuple[str, str]]) -> Content:
    """Neighbours of one style together."""
    parts: list[tuple[str, str]] = []
    for character, style in row:
        if parts and parts[-1][1] == style:
            parts[-1] = (parts[-1][0] + character, style)
        else:
            parts.append((character, style))
    return Content("").join(Content.styled(text, style) if style else Content(text) for text, style in parts)
