"""Whole surveys drawn at random, and each point's result by an oracle that shares nothing with the fold.

The oracle knows which readings hold and what was asked in between, and works in fractions: the values
of takes as their rules say in words, R = R20 (1 + alpha20 (t - 20)) with alpha20 of IEC 60028 and
IEC 60889, U of the GUM (JCGM 100:2008 4.3.7, 5.1.2, 6.2.1) and the decision rules of ILAC-G8:09/2019
4.2. No root is taken: a value v meets ``v <= TL - r U`` where TL - v is not below nought and its square
not below that of r U. Values stand on edges, beside them, and anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from statistics import median
from typing import Any

from hypothesis import event as note
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldtui.core.account.basis import basis_of
from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.measurement.voltage import VoltageReading, VoltUnit, voltage_reading
from fieldtui.core.plan.conductors import Metal
from fieldtui.core.plan.route import (
    METHOD_READINGS,
    METHOD_RULES,
    Comparator,
    Conductor,
    Limit,
    Method,
    Point,
    Route,
)
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.meters import format_meter
from fieldtui.core.survey.survey import Survey, fold
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from tests.core.walks import START, point, route

ALPHA = {"copper": Fraction("0.00393"), "aluminium": Fraction("0.00403")}
WORST_FIRST = ["fail", "conditional fail", "conditional pass", "pass", "recorded"]

# --- the oracle ----------------------------------------------------------------------------------


def ohms(value: Resistance) -> Fraction:
    return Fraction(value.value) * Fraction(10) ** value.unit.exponent


def step_of(value: Resistance) -> Fraction:
    """One step of the last digit keyed, ohm; of a voltage that over the current."""
    if isinstance(value, VoltageReading):
        return Fraction(value.resolution)  # rounded up to three digits, for the display
    _, _, exponent = value.value.as_tuple()
    return Fraction(10) ** (min(int(exponent), 0) + value.unit.exponent)


def squared_u(meter: Accuracy, value: Fraction, step: Fraction) -> Fraction:
    """U squared: k times the root of (stated / k) squared and a twelfth of the step squared."""
    stated = Fraction(meter.percent) / 100 * value + ohms(meter.floor)
    shown = ohms(meter.resolution) if meter.resolution is not None else step
    return stated**2 + Fraction(meter.coverage) ** 2 * shown**2 / 12


def holds(room: Fraction, squared_band: Fraction, sign: int, *, is_strict: bool) -> bool:
    """Whether there is room for the band (sign 1), or the band reaches out as far (sign -1)."""
    if sign > 0:
        enough, on_edge = room >= 0 and room**2 >= squared_band, room >= 0 and room**2 == squared_band
    else:
        enough, on_edge = room >= 0 or room**2 <= squared_band, room <= 0 and room**2 == squared_band
    return enough and not (is_strict and on_edge)


def within(limit: Limit, factor: Fraction, value: Fraction, squared_band: Fraction, sign: int) -> bool:
    """The bounds carried to the temperature of the value by ``factor``."""
    top, bottom = limit.maximum, limit.minimum
    return (
        top is None
        or holds(ohms(top) * factor - value, squared_band, sign, is_strict=limit.upper is Comparator.LESS)
    ) and (
        bottom is None
        or holds(value - ohms(bottom) * factor, squared_band, sign, is_strict=limit.lower is Comparator.MORE)
    )


def judged(limit: Limit, factor: Fraction, value: Fraction, squared: Fraction | None) -> str:
    if limit.record_only or (limit.maximum is None and limit.minimum is None):
        return "recorded"
    meets = within(limit, factor, value, Fraction(0), 1)
    if squared is None or limit.rule.kind is RuleKind.SIMPLE:
        return "pass" if meets else "fail"
    band = Fraction(limit.rule.factor) ** 2 * squared
    if within(limit, factor, value, band, 1):
        return "pass"
    if limit.rule.kind is RuleKind.GUARDED:
        return "fail"
    if meets:
        return "conditional pass"
    return "conditional fail" if within(limit, factor, value, band, -1) else "fail"


@dataclass
class Kept:
    """A reading that holds."""

    row: int
    record: int
    value: Resistance
    meter: Accuracy | None


def value_of(at: Point, readings: list[Resistance]) -> Fraction:
    """What a whole take comes to, ohm."""
    if at.current_ma is not None and at.method != "single":
        signed = [
            Fraction(each.volts) * Fraction(10) ** each.volt_unit.exponent * 1000 / Fraction(at.current_ma)
            for each in readings
            if isinstance(each, VoltageReading)
        ]
        if at.method == "reversed":
            return abs(signed[0] - signed[1]) / 2
        return abs(signed[0] - 2 * signed[1] + signed[2]) / 4
    values = [ohms(each) for each in readings]
    if at.method == "three-reading":
        return (values[0] + 2 * values[1] + values[2]) / 4
    if at.method == "reversed" or at.rule == "mean":
        return sum(values, Fraction(0)) / len(values)
    return Fraction(median(values)) if at.rule == "median" else max(values)


def verdict_of(at: Point, take: list[Kept], *, retest: bool, celsius: Decimal | None) -> str:
    if at.method != "single" and len(take) < at.repeats:
        return "recorded"
    limit = at.retest if retest and at.retest is not None else at.limit
    metal: Metal = at.conductor.metal if at.conductor is not None else "copper"
    factor = Fraction(1)
    if at.correct_to_20 and celsius is not None:
        factor += ALPHA[metal] * (Fraction(celsius) - 20)
    if at.method == "single" and at.rule == "max":
        each = [
            judged(
                limit,
                factor,
                ohms(one.value),
                squared_u(one.meter, ohms(one.value), step_of(one.value)) if one.meter is not None else None,
            )
            for one in take
        ]
        return min(each, key=WORST_FIRST.index)
    value = value_of(at, [one.value for one in take])
    squares = [squared_u(one.meter, value, step_of(one.value)) for one in take if one.meter is not None]
    squared = max(squares) if len(squares) == len(take) else None
    return judged(limit, factor, value, squared)


@dataclass
class Told:
    """What happened, as the oracle keeps it."""

    points: dict[str, Point]
    celsius: Decimal | None
    held: dict[str, list[Kept]] = field(default_factory=dict)
    asked: dict[str, list[int]] = field(default_factory=dict)  # rows of redo and rework
    reworked: dict[str, int] = field(default_factory=dict)  # row of the first

    def takes(self, name: str) -> list[list[Kept]]:
        """Whole takes, in order: readings between two rows that asked for another take."""
        kept = sorted(self.held.get(name, []), key=lambda one: one.row)
        edges = self.asked.get(name, [])
        runs: dict[int, list[Kept]] = {}
        for one in kept:
            runs.setdefault(sum(row < one.row for row in edges), []).append(one)
        size = self.points[name].repeats
        found = [run[at : at + size] for run in runs.values() for at in range(0, len(run), size)]
        return [take for take in found if len(take) == size]

    def result(self, name: str, take: list[Kept]) -> str:
        first = self.reworked.get(name, 0)
        is_retest = bool(first) and take[-1].row > first
        return verdict_of(self.points[name], take, retest=is_retest, celsius=self.celsius)


# --- surveys drawn at random -----------------------------------------------------------------------

MOHM = Unit.MOHM
factors = st.sampled_from([Decimal(1), Decimal("0.83"), Decimal("1.5"), Decimal(0)])
decisions = st.builds(DecisionRule, st.sampled_from(RuleKind), factors)
coarse = st.sampled_from(
    ["1.9", "2.0", "2.1", "2.3", "2.4", "2.45", "2.5", "2.50", "2.55", "2.6", "2.7", "3"]
)
anything = st.decimals("0", "4", places=3).map(str)


def mohm(text: str) -> Resistance:
    return Resistance(Decimal(text), MOHM)


@st.composite
def bounds(draw: st.DrawFn) -> Limit:
    shape = draw(st.sampled_from(["max", "max", "min", "window", "none"]))
    if shape == "none":
        return Limit(record_only=True)
    return Limit(
        maximum=mohm("2.5").to(draw(st.sampled_from(Unit))) if shape != "min" else None,
        minimum=mohm("2.0").to(draw(st.sampled_from(Unit))) if shape != "max" else None,
        upper=draw(st.sampled_from([Comparator.LESS, Comparator.AT_MOST])),
        lower=draw(st.sampled_from([Comparator.MORE, Comparator.AT_LEAST])),
        rule=draw(decisions),
    )


@st.composite
def accuracies(draw: st.DrawFn) -> Accuracy | None:
    if draw(st.integers(0, 4)) == 0:
        return None
    return Accuracy(
        percent=draw(st.sampled_from([Decimal(0), Decimal(1), Decimal("2.5")])),
        floor=mohm(draw(st.sampled_from(["0", "0.1", "0.05"]))),
        resolution=draw(st.sampled_from([None, mohm("0"), mohm("0.01"), mohm("0.1")])),
        coverage=draw(st.sampled_from([Decimal(2), Decimal(3), Decimal("1.96")])),
    )


@st.composite
def planned(draw: st.DrawFn, name: str, *, is_plain: bool) -> Point:
    methods: list[Method] = ["single", "single", "reversed", "three-reading"]
    method = "single" if is_plain else draw(st.sampled_from(methods))
    facts: dict[str, Any] = {
        "limit": draw(bounds()),
        "retest": draw(st.none() | bounds()),
        "correct_to_20": draw(st.booleans()),
    }
    if draw(st.booleans()):
        facts["conductor"] = Conductor(
            mm2=Decimal(4), length_mm=Decimal(100), metal=draw(st.sampled_from(["copper", "aluminium"]))
        )
    if method == "single":
        repeats = 1 if is_plain else draw(st.integers(1, 4))
        facts |= {"repeats": repeats, "rule": draw(st.sampled_from(["max", "mean", "median"]))}
    else:
        facts |= {"method": method, "repeats": METHOD_READINGS[method], "rule": METHOD_RULES[method]}
        facts["current_ma"] = draw(st.sampled_from([None, Decimal(100), Decimal(30)]))
    return point(name, **facts)


@st.composite
def keyed(draw: st.DrawFn, at: Point) -> Resistance:
    text = draw(coarse | anything)
    if at.current_ma is not None:
        sign = draw(st.sampled_from([1, -1]))
        volts = sign * Decimal(text) * at.current_ma / 1000
        return voltage_reading(volts, VoltUnit.MILLIVOLT, at.current_ma)
    return mohm(text).to(draw(st.sampled_from([Unit.MOHM, Unit.UOHM, Unit.OHM])))


def meter(accuracy: Accuracy | None, name: str) -> Instrument:
    return Instrument(id=name, title=f"Meter {name}", unit=MOHM, accuracy=accuracy)


@dataclass
class Drawn:
    """A survey while it is drawn: told to the program and to the oracle alike."""

    draw: Any
    told: Told
    survey: Survey
    meters: list[Accuracy | None]

    def tell(self, kind: type[ev.Event], **facts: Any) -> None:
        time = START + timedelta(seconds=self.survey.rows)
        self.survey = self.survey.after(kind(time=time, by="Ana", **facts))

    def read(self, name: str) -> None:
        at = self.told.points[name]
        value = self.draw(keyed(at))
        said = self.survey.would_say(name, value)
        record = self.survey.next_record
        self.tell(ev.ReadingTaken, record=record, point=name, reading=value, verdict=said)
        self.told.held.setdefault(name, []).append(Kept(self.survey.rows, record, value, self.meters[-1]))

    def ask(self, kind: type[ev.Event], name: str) -> None:
        facts = {"ref": None} if kind is ev.RedoAsked else {"ref": "D-1"}
        self.tell(kind, point=name, reason="cleaned", **facts)
        self.told.asked.setdefault(name, []).append(self.survey.rows)
        if kind is ev.Reworked:
            self.told.reworked.setdefault(name, self.survey.rows)

    def holder(self, record: int) -> tuple[str, Kept]:
        return next((n, one) for n, held in self.told.held.items() for one in held if one.record == record)

    def void(self, record: int) -> None:
        name, one = self.holder(record)
        self.tell(ev.Voided, ref=record, point=name, reason="wrong clip")
        self.told.held[name].remove(one)

    def amend(self, record: int) -> None:
        name, one = self.holder(record)
        one.value = self.draw(keyed(self.told.points[name]))
        self.tell(ev.Amended, ref=record, reason="misheard", reading=one.value)

    def move(self, record: int, to: str) -> None:
        name, one = self.holder(record)
        self.tell(ev.Amended, ref=record, reason="wrong point", point=to)
        self.told.held[name].remove(one)
        self.told.held.setdefault(to, []).append(one)

    def shift(self, first: int, by: int) -> None:
        """Every reading from ``first`` on belongs ``by`` points further on."""
        names = list(self.told.points)
        to = names.index(self.survey.records[first].point) + by
        if to not in range(len(names)):
            return
        moving = [(n, one) for n, held in self.told.held.items() for one in held if one.record >= first]
        places = [names.index(each.point) + by for n, each in self.survey.records.items() if n >= first]
        asked = [(n, row) for n in names for row in self.asks_of(n, first)]
        self.tell(
            ev.ReadingsShifted,
            ref=first,
            record=max(self.survey.records),
            point=names[to],
            reason="out of step",
        )
        if any(at not in range(len(names)) for at in places):
            return  # one of them would fall off the route: refused, and told
        for name, one in moving:
            self.told.held[name].remove(one)
        for name, one in moving:
            self.told.held.setdefault(names[names.index(name) + by], []).append(one)
        for name, row in asked:
            self.told.asked[name].remove(row)
        for name, row in asked:
            there = self.told.asked.setdefault(names[names.index(name) + by], [])
            there[:] = sorted([*there, row])

    def asks_of(self, name: str, first: int) -> list[int]:
        """The rows of its redos about readings from ``first`` on: each is about the next, or the last before.

        What was asked for was asked for where the probes were. A rework is of the bond, and stays.
        """
        if name in self.told.reworked:
            return []
        read = [(each.row, number) for number, each in self.survey.records.items() if each.point == name]
        found = []
        for row in self.told.asked.get(name, []):
            about = [number for at, number in read if at > row][:1] or [n for at, n in read if at < row][-1:]
            if about and about[0] >= first:
                found.append(row)
        return found

    def swap(self) -> None:
        accuracy = self.draw(accuracies())
        self.meters.append(accuracy)
        self.tell(
            ev.MeterTaken,
            ref=f"m{len(self.meters)}",
            reason="battery",
            definition=format_meter(meter(accuracy, f"m{len(self.meters)}")),
        )


DEEDS = [*["read"] * 5, "redo", "rework", "void", "amend", "move", "shift", "swap"]


@st.composite
def surveys(draw: st.DrawFn, *, is_plain: bool) -> Drawn:
    """``is_plain``: points of one reading, and readings that are moved about; else takes of every kind."""
    names = [f"P-{number}" for number in range(draw(st.integers(1, 4)))]
    points = {name: draw(planned(name, is_plain=is_plain)) for name in names}
    celsius = draw(st.sampled_from([None, Decimal(20), Decimal("-12.5"), Decimal(35)]))
    on: Route = replace(route(*points.values()), celsius=celsius)
    accuracy = draw(accuracies())
    drawn = Drawn(draw, Told(points, celsius), fold(on, meter(accuracy, "m1")), [accuracy])
    for _ in range(draw(st.integers(1, 14))):
        name = draw(st.sampled_from(names))
        records = [one.record for held in drawn.told.held.values() for one in held]
        deed = draw(st.sampled_from(DEEDS))
        if deed == "read":
            edges = drawn.told.asked.get(name) or [0]
            run = [one for one in drawn.told.held.get(name, []) if one.row > edges[-1]]
            if not is_plain and len(run) >= points[name].repeats:
                drawn.ask(ev.RedoAsked, name)  # as the walk does: a take once whole is taken again by a redo
            drawn.read(name)
        elif deed in ("redo", "rework"):
            drawn.ask(ev.RedoAsked if deed == "redo" else ev.Reworked, name)
        elif deed == "swap":
            drawn.swap()
        elif records:
            record = draw(st.sampled_from(records))
            if deed == "void":
                drawn.void(record)
            elif deed == "amend":
                drawn.amend(record)
            elif is_plain and deed == "move":
                drawn.move(record, name)
            elif is_plain and deed == "shift" and drawn.survey.records[record].is_valid:
                drawn.shift(record, draw(st.sampled_from([-1, 1, 2])))
    return drawn


def check(drawn: Drawn) -> None:
    survey, told = drawn.survey, drawn.told
    for name, at in told.points.items():
        takes, standing = told.takes(name), survey.standings[name]
        assert (standing.as_left is None) == (not takes), name
        if standing.as_left is None or standing.as_found is None:
            continue
        for found, take in ((standing.as_found, takes[0]), (standing.as_left, takes[-1])):
            assert [record.record for record in found.records] == [one.record for one in take]
            assert found.verdict.value == told.result(name, take), (at, take)
        wanted = {"pass": "passed", "fail": "failed", "recorded": "recorded"}
        verdict = told.result(name, takes[-1]).removeprefix("conditional ")
        is_asked = any(row > takes[-1][-1].row for row in told.asked.get(name, []))
        is_open = is_asked and verdict != "fail"  # to be taken again
        assert standing.state.value == ("open" if is_open else wanted[verdict])
        note(f"{at.method}: {told.result(name, takes[-1])}")
        value = value_of(at, [one.value for one in takes[-1]])
        left = standing.as_left
        if at.method != "single" or at.rule != "max":  # shown one digit finer than the finest reading
            finest = min(step_of(one.value) for one in takes[-1])
            assert abs(ohms(left.value) - value) <= finest / 2
        basis = basis_of(at, left, survey.conditions)
        lacking = [one.meter is None for one in takes[-1]]
        judges = basis.limit.judges and basis.limit.rule.kind is not RuleKind.SIMPLE
        assert basis.lacks_accuracy == (judges and any(lacking))
    # Each verdict said is the verdict that the rows give.
    assert [each.what for each in survey.problems if "no point" not in each.what] == []


@settings(max_examples=300)
@given(surveys(is_plain=False))
def test_takes_of_every_kind_by_every_rule_with_every_meter(drawn: Drawn) -> None:
    check(drawn)


@settings(max_examples=300)
@given(surveys(is_plain=True))
def test_readings_moved_struck_out_and_corrected(drawn: Drawn) -> None:
    check(drawn)


def test_the_oracle_says_every_verdict_there_is() -> None:
    """And knows an edge from a hair beside it: 2.5 less U = 0.1."""
    four = Limit(maximum=mohm("2.5"), rule=DecisionRule(RuleKind.FOUR_STATES))
    squared = Fraction("0.0001") ** 2
    said = [
        judged(four, Fraction(1), Fraction(value) / 1000, squared)
        for value in ("2.4", "2.400001", "2.5", "2.500001", "2.6", "2.600001")
    ]
    assert said == ["pass", *["conditional pass"] * 2, *["conditional fail"] * 2, "fail"]
    strict = replace(four, upper=Comparator.LESS)
    on_edges = [judged(strict, Fraction(1), Fraction(v) / 1000, squared) for v in ("2.4", "2.5", "2.6")]
    assert on_edges == ["conditional pass", "conditional fail", "fail"]
    assert {verdict.value for verdict in Verdict} == set(WORST_FIRST)
