"""How much of its limit each point uses, as a histogram; the templates draw it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

from fieldtui.core.route import Limit
from fieldtui.core.survey import Survey
from fieldtui.report.charts import LEFT, RIGHT, limit_of
from fieldtui.report.finding import counted

_TENTHS = 15  # bars, a tenth of the limit each; the last takes everything above
_TOP, _FOOT = 34.0, 160.0


@dataclass(frozen=True, slots=True)
class Bar:
    """Points that use this tenth of their limit; heights in chart units, failed on top of the others."""

    x: float
    width: float
    text: str
    count: int
    failed: int
    top: float
    middle: float  # where passed ends and failed begins


@dataclass(frozen=True, slots=True)
class Histogram:
    """How many points use how much of their limit."""

    title: str
    description: str
    bars: tuple[Bar, ...]
    limit_x: float
    foot: float = _FOOT
    height: float = _FOOT + 46


def used_share(limit: Limit, value: Decimal) -> Decimal | None:
    """The part of its limit that a value in ohm uses: 1 stands on the limit, more is beyond.

    Of a window the bound that is nearer counts. None where there is no limit to use.
    """
    if not limit.judges:
        return None
    shares = []
    if limit.maximum is not None and limit.maximum.ohms > 0:
        shares.append(value / limit.maximum.ohms)
    if limit.minimum is not None:
        shares.append(limit.minimum.ohms / value if value > 0 else Decimal("Infinity"))
    return max(shares, default=None)


def histogram(survey: Survey) -> Histogram | None:
    """How many points use which tenth of their limit; None where none was judged."""
    passed: Counter[int] = Counter()
    failed: Counter[int] = Counter()
    for point_id in survey.order.ids:
        point, standing = survey.points[point_id], survey.standings[point_id]
        left = standing.as_left
        share = used_share(limit_of(point, standing), left.value.ohms) if left is not None else None
        if left is None or share is None:
            continue
        (failed if left.verdict.is_failed else passed)[_tenth(share)] += 1
    if not passed and not failed:
        return None
    total = passed + failed
    tallest = max(total.values())
    width = (RIGHT - LEFT) / _TENTHS
    bars = tuple(_bar(tenth, total[tenth], failed[tenth], tallest, width) for tenth in range(_TENTHS))
    told = "; ".join(
        f"{bar.text}: {counted(bar.count, 'point')}" + (f", {bar.failed} failed" if bar.failed else "")
        for bar in bars
        if bar.count
    )
    return Histogram(
        title="How much of its limit each point uses",
        description=f"Value as left in percent of the limit. {told}.",
        bars=bars,
        limit_x=round(LEFT + 10 * width, 1),
    )


def _tenth(share: Decimal) -> int:
    """The bar of a share; one that stands on a line belongs to the bar below it."""
    tenths = min(share * 10, Decimal(_TENTHS))
    whole = int(tenths)
    return max(whole - (tenths == whole), 0)


def _bar(tenth: int, count: int, failed: int, tallest: int, width: float) -> Bar:
    unit = (_FOOT - _TOP) / tallest
    is_last = tenth == _TENTHS - 1
    text = f"above {tenth * 10} %" if is_last else f"{tenth * 10} to {tenth * 10 + 10} %"
    return Bar(
        x=round(LEFT + tenth * width, 1),
        width=round(width, 1),
        text=text,
        count=count,
        failed=failed,
        top=round(_FOOT - count * unit, 1),
        middle=round(_FOOT - (count - failed) * unit, 1),
    )
