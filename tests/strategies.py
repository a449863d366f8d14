"""Hypothesis strategies shared by the tests: values, limits, texts and whole routes."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import strategies as st

from fieldtui.core.measurement.ohms import MAX_DIGITS, Resistance, Unit
from fieldtui.core.plan.route import RECORD_ONLY, Comparator, Limit, Point, Route, Rule, Section
from fieldtui.core.text import refusal

UPPER = (Comparator.LESS, Comparator.AT_MOST)
LOWER = (Comparator.MORE, Comparator.AT_LEAST)
RULES: tuple[Rule, ...] = ("max", "mean", "median")

units = st.sampled_from(Unit)
rules = st.sampled_from(RULES)


@st.composite
def numbers(draw: st.DrawFn, most: int = MAX_DIGITS) -> str:
    """A number as somebody keys it: no sign, no needless nought in front, maybe a point and digits."""
    whole = draw(st.integers(0, 10**most - 1).map(str))
    part = draw(st.one_of(st.just(""), st.text("0123456789", min_size=1, max_size=most)))
    return f"{whole}.{part}" if part else whole


@st.composite
def resistances(draw: st.DrawFn, most: int = MAX_DIGITS) -> Resistance:
    """Any resistance that can be keyed, in any unit."""
    return Resistance(Decimal(draw(numbers(most))), draw(units))


@st.composite
def bond_readings(draw: st.DrawFn) -> Resistance:
    """What a bond reads: a few hundred microhms to some milliohms, in the two units crews use."""
    digits = draw(st.decimals("0.05", "9.99", places=2))
    if draw(st.booleans()):
        return Resistance(digits, Unit.MOHM)
    return Resistance(digits.scaleb(3).quantize(Decimal(1)), Unit.UOHM)


@st.composite
def limits(draw: st.DrawFn) -> Limit:
    """A limit of any shape: one bound, a window that is not upside down, or none."""
    shape = draw(st.sampled_from(["max", "min", "window", "record only"]))
    if shape == "record only":
        return RECORD_ONLY
    low, high = sorted([draw(resistances(4)), draw(resistances(4))], key=lambda bound: bound.ohms)
    return Limit(
        maximum=high if shape != "min" else None,
        minimum=low if shape != "max" else None,
        upper=draw(st.sampled_from(UPPER)) if shape != "min" else Comparator.AT_MOST,
        lower=draw(st.sampled_from(LOWER)) if shape != "max" else Comparator.AT_LEAST,
    )


any_text = st.text(st.characters(), max_size=40)  # surrogates, controls and noncharacters too
clean_texts = st.text(
    st.characters(exclude_categories=["Cc", "Cf", "Cs", "Cn", "Zl", "Zp", "Mn", "Me"])
).filter(lambda text: refusal(text) is None)
reasons = st.sampled_from(["paint not stripped", "tips slipped", "wrong clip", "rain", 'clip, moved "off"'])


@st.composite
def routes(draw: st.DrawFn, max_points: int = 7) -> Route:
    """A short route through one to three sections, with windows, repeats, rules and retest limits."""
    sections = draw(st.integers(1, 3))
    places = sorted(draw(st.lists(st.integers(0, sections - 1), min_size=1, max_size=max_points)))
    points = tuple(
        Point(
            id=f"{'ABC'[place]}-{number:02d}",
            section="ABC"[place],
            title=f"Bond {number}",
            unit=draw(st.sampled_from([Unit.MOHM, Unit.OHM])),
            limit=draw(limits()),
            retest=draw(st.none() | limits()),
            repeats=draw(st.sampled_from([1, 1, 1, 2, 3])),
            rule=draw(rules),
        )
        for number, place in enumerate(places, start=1)
    )
    return Route(
        name="drawn",
        title="Drawn route",
        asset="amphibious twin ZX-41",
        revision="A",
        source="invented for the test",
        unit=Unit.MOHM,
        check_every=draw(st.sampled_from([0, 1, 3])),
        sections=tuple(Section(each, f"Section {each}") for each in "ABC"[:sections]),
        points=points,
    )
