"""The list of the start screen: headings that cannot be chosen, and choices that can."""

from __future__ import annotations

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

    @property
    def chosen(self) -> Choice | None:
        """The choice under the cursor."""
        return self._choices[self.highlighted] if self.highlighted is not None else None

    def show(self, listing: Listing) -> None:
        """List anew; the cursor stays on its row where that is still there, else on the first choice."""
        before = self.chosen
        self._choices = []
        options = []
        for group in listing.groups:
            self._choices.append(None)
            options.append(Option(Content.styled(group.title, "bold underline"), disabled=True))
            for choice in group.choices:
                self._choices.append(choice)
                options.append(Option(_row(choice)))
        self.set_options(options)
        paths = [choice.path if choice else None for choice in self._choices]
        kept = paths.index(before.path) if before is not None and before.path in paths else None
        self.highlighted = kept if kept is not None else (1 if paths else None)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        choice = self._choices[event.option_index]
        if choice is not None:
            self.post_message(self.Opened(choice))


def _row(choice: Choice) -> Content:
    lines = [shown(f"  {choice.title}", "bold"), shown(f"    {choice.words}")]
    if choice.name:
        lines.append(shown(f"    {choice.name}"))
    if choice.trouble:
        lines.append(shown(f"    ! {choice.trouble}", "$text-error"))
    return Content("\n").join(lines)
