"""One question of the brief: its label, its answer, what is said of the answer at once, and, where
it keeps the walk from beginning, a line for the reason to go on all the same."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widget import Widget
from textual.widgets import Static

from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.brief_choice import ChoiceLine
from fieldtui.ui.widgets.text_line import TextLine


class Field(Vertical):
    """``name`` is the field or the item of the brief; ``answer`` any widget one line high."""

    DEFAULT_CSS = """
    Field { height: auto; }
    Field > Horizontal { height: auto; }
    """

    def __init__(
        self,
        name: str,
        label: str,
        answer: Widget,
        *,
        can_override: bool = False,
        reasons: Sequence[str] = (),
    ) -> None:
        """``reasons`` are offered for going on all the same: the digit of one alone stands for it."""
        super().__init__(classes="field")
        self.field = name
        self.answer = answer
        self.reason = TextLine() if can_override else None
        self._reasons = list(reasons)[:9]
        self._offered = Static(classes="field-remark", markup=False)
        self._label = Static(shown(label), classes="field-label", markup=False)
        self._remark = Static(classes="field-remark", markup=False)
        self._because = Horizontal(classes="field-because")

    def compose(self) -> ComposeResult:
        with Horizontal():
            yield self._label
            yield self.answer
        self._remark.display = False
        yield self._remark
        if self.reason is not None:
            self._because.display = False
            with self._because:
                yield Static("  go on because", classes="field-label", markup=False)
                yield self.reason
            self._offered.display = False
            yield self._offered

    def relabel(self, label: str) -> None:
        """Another label, when the question changes with the meter."""
        self._label.update(shown(label))

    def say(self, remark: str, *, is_bad: bool = False) -> None:
        """What is to be said of the answer now; empty takes the line away."""
        self._remark.display = bool(remark)
        self._remark.update(shown(f"{'!' if is_bad else '·'} {remark}", "bold" if is_bad else ""))

    def offer_override(self, is_offered: bool) -> None:
        """Show or hide the line for the reason, where there is one."""
        self._because.display = is_offered
        numbered = "  ".join(f"{number} {reason}" for number, reason in enumerate(self._reasons, 1))
        self._offered.update(shown(f"{numbered}  or own words"))
        self._offered.display = is_offered and bool(self._reasons) and not self.override

    @property
    def override(self) -> str:
        """The reason keyed, empty where none is asked for."""
        if self.reason is None or not self._because.display:
            return ""
        keyed = self.reason.value.strip()
        is_number = keyed.isascii() and keyed.isdigit() and 0 < int(keyed) <= len(self._reasons)
        return self._reasons[int(keyed) - 1] if is_number else self.reason.value

    def write_out_reason(self) -> None:
        """Put the words of a reason in the place of its digit."""
        if self.reason is not None and self.override and self.override != self.reason.value:
            self.reason.value = self.override

    @property
    def kept(self) -> tuple[str | int | None, str]:
        """What was answered, and the reason keyed to go on all the same."""
        given: str | int | None = None
        if isinstance(self.answer, TextLine):
            given = self.answer.value
        elif isinstance(self.answer, ChoiceLine):
            given = self.answer.chosen
        return given, self.reason.value if self.reason is not None else ""

    def give_back(self, kept: tuple[str | int | None, str] = (None, "")) -> None:
        """Answer as it was kept; by itself, as before anything was keyed."""
        given, reason = kept
        if isinstance(self.answer, TextLine):
            self.answer.value = given if isinstance(given, str) else ""
        elif isinstance(self.answer, ChoiceLine):
            self.answer.chosen = given if isinstance(given, int) else None
        if self.reason is not None:
            self.reason.value = reason

    @property
    def is_keyed(self) -> bool:
        """Whether some text was keyed as the answer."""
        return isinstance(self.answer, TextLine) and bool(self.answer.value)

    def focus_answer(self) -> None:
        """Put the cursor where the trouble is mended."""
        target = self.answer if self.answer.focusable else self.reason
        if target is not None:
            target.focus()
