"""The list of the start screen: headings that cannot be chosen, and choices that can.

The marked choice has a shape beside it; a choice too long for its lines goes on under itself.
"""

from __future__ import annotations

from textual import events
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.start_rows import Choice, Listing


class StartList(OptionList):
    """Posts :class:`Opened` when Enter falls on a choice."""

    class Opened(Message):
        """A choice was opened."""

        def __init__(self, choice: Choice) -> None:
            self.choice = choice
            super().__init__()

    def __init__(self) -> None:
        super().__init__(id="start-list", markup=False)
        self._choices: list[Choice | None] = []  # by option, None for a heading
        self._marked: int | None = None  # the option that has the mark

    @property
    def chosen(self) -> Choice | None:
        """The choice under the cursor."""
        return self._choices[self.highlighted] if self.highlighted is not None else None

    def show(self, listing: Listing) -> None:
        """List anew; the cursor stays on its row where that is still there, else on the first choice."""
        before = self.chosen
        self._choices, self._marked = [], None
        options = []
        for group in listing.groups:
            self._choices.append(None)
            options.append(Option(Content.styled(group.title, "bold underline"), disabled=True))
            for choice in group.choices:
                self._choices.append(choice)
                options.append(Option(_row(choice, self._cells, is_marked=False)))
        self.set_options(options)
        paths = [choice.path if choice else None for choice in self._choices]
        kept = paths.index(before.path) if before is not None and before.path in paths else None
        self.highlighted = kept if kept is not None else (1 if paths else None)

    @property
    def _cells(self) -> int:
        return max(20, self.scrollable_content_region.width or self.app.size.width - 4)

    def watch_highlighted(self, highlighted: int | None) -> None:
        super().watch_highlighted(highlighted)
        before, self._marked = self._marked, highlighted
        self._draw_rows(*{place for place in (before, highlighted) if place is not None})

    def on_resize(self, event: events.Resize) -> None:
        self._draw_rows(*range(len(self._choices)))

    def _draw_rows(self, *places: int) -> None:
        for place in places:
            choice = self._choices[place] if place < self.option_count else None
            if choice is not None:
                row = _row(choice, self._cells, is_marked=place == self._marked)
                self.replace_option_prompt_at_index(place, row)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        choice = self._choices[event.option_index]
        if choice is not None:
            self.post_message(self.Opened(choice))


def _row(choice: Choice, width: int, *, is_marked: bool) -> Content:
    mark = "▶ " if is_marked else "  "
    lines = [
        *_folded(choice.title, width, "bold", mark),
        *_folded(choice.words, width, "", "    "),
        *_folded(choice.name, width, "", "    "),
        *_folded(f"! {choice.trouble}" if choice.trouble else "", width, "$text-error", "    "),
    ]
    return Content("\n").join(lines)


def _folded(text: str, width: int, style: str, before: str) -> list[Content]:
    """The text behind ``before``, folded under itself; no line at all of an empty one."""
    if not text:
        return []
    folded = shown(text, style).wrap(max(10, width - len(before)))
    befores = [Content.styled(before, style)] + [Content(" " * len(before))] * (len(folded) - 1)
    return [head + line for head, line in zip(befores, folded, strict=True)]
