"""How much of its limit each point uses, as a histogram; the templates draw it."""

from __future__ import annotations

from dataclasses import dataclass

from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.report.charts.along_route import LEFT, RIGHT
from fieldtui.report.charts.data import TENTHS, Tenth, tenths_of
from fieldtui.report.unproven import ALL_PROVEN, UNPROVEN, Unproven

_TOP, _FOOT = 34.0, 160.0


@dataclass(frozen=True, slots=True)
class Bar:
    """Points that use this tenth of their limit; heights in chart units, failed on top of the others."""

    x: float
    width: float
    text: str
    count: int
    failed: int
    doubted: int  # of all of them, in doubt for the meter
    unproven: int  # of all of them, not proven by the trail
    top: float
    middle: float  # where passed ends and failed begins

    @property
    def label(self) -> str:
        """The count above the bar, and how many of it are in doubt (``?``) and unproven (``!``)."""
        marked = ((self.doubted, "?"), (self.unproven, "!"))
        more = [f"{mark}{count}" for count, mark in marked if count]
        return " ".join([str(self.count), *more]) if self.count else ""


@dataclass(frozen=True, slots=True)
class Histogram:
    """How many points use how much of their limit."""

    title: str
    description: str
    bars: tuple[Bar, ...]
    limit_x: float
    marks_words: str = ""  # what the marks in the bars' labels mean, those in use
    foot: float = _FOOT
    height: float = _FOOT + 46


def histogram(survey: Survey, unproven: Unproven = ALL_PROVEN) -> Histogram | None:
    """How many points use which tenth of their limit; None where none was judged."""
    tenths = tenths_of(survey, unproven)
    if not tenths:
        return None
    tallest = max(tenth.count for tenth in tenths)
    width = (RIGHT - LEFT) / TENTHS
    bars = tuple(_bar(place, tenth, tallest, width) for place, tenth in enumerate(tenths))
    told = "; ".join(
        f"{bar.text}: {counted(bar.count, 'point')}"
        + (f", {bar.failed} failed" if bar.failed else "")
        + (f", {bar.doubted} IN DOUBT" if bar.doubted else "")
        + (f", {bar.unproven} {UNPROVEN}" if bar.unproven else "")
        for bar in bars
        if bar.count
    )
    return Histogram(
        title="How much of its limit each point uses",
        description=f"Value as left in percent of the limit. {told}.",
        bars=bars,
        limit_x=round(LEFT + 10 * width, 1),
        marks_words="   ".join(
            words
            for words, is_used in (
                ("? IN DOUBT", any(bar.doubted for bar in bars)),
                (f"! {UNPROVEN}", any(bar.unproven for bar in bars)),
            )
            if is_used
        ),
    )


def _bar(place: int, tenth: Tenth, tallest: int, width: float) -> Bar:
    unit = (_FOOT - _TOP) / tallest
    return Bar(
        x=round(LEFT + place * width, 1),
        width=round(width, 1),
        text=tenth.text,
        count=tenth.count,
        failed=len(tenth.failed),
        doubted=len(tenth.doubted),
        unproven=len(tenth.unproven),
        top=round(_FOOT - tenth.count * unit, 1),
        middle=round(_FOOT - len(tenth.passed) * unit, 1),
    )
