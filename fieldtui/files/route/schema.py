"""What a route file may hold, field by field."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar

from fieldtui.files.toml.fields import (
    ComparatorSign,
    DecisionName,
    Flag,
    Format,
    Gauge,
    Id,
    MetalName,
    MethodName,
    Place,
    Positive,
    Quantity,
    RuleName,
    Text,
    Title,
    UnitName,
    whole_number,
)
from fieldtui.files.toml.strict import Strict

PER_POINT = ("id", "section", "title", "at", "pair")  # what no two points can share


_SYNONYMS = {  # our key, and what people may write for it
    "id": ("no", "number", "ref", "tag"),
    "title": ("name", "description", "designation", "label"),
    "where": ("location", "position", "station", "place", "zone"),
    "a": ("from", "point_a", "probe_1"),
    "b": ("to", "point_b", "probe_2", "reference", "ground", "earth"),
    "limit": ("acceptance", "requirement", "tolerance"),
    "retest": ("rework", "after_rework"),
    "expected": ("typical", "usual", "nominal"),
    "conductor": ("awg", "mm2", "length_mm", "metal", "wire", "cable", "jumper"),
    "repeats": ("readings", "repetitions", "count", "times", "samples"),
    "rule": ("combine", "aggregate", "statistic"),
    "current_ma": ("current", "test_current", "test_current_ma"),
    "correct_to_20": ("temperature", "temperature_correction", "corrected", "at_20"),
    "guard": ("guard_band", "guardband"),
    "decision": ("decision_rule",),
    "family": ("kind", "type", "class", "group"),
    "prepare": ("preparation", "cleaning"),
    "restore": ("finish", "refinish", "protection"),
    "caution": ("warning", "warnings", "safety", "hazard"),
    "pair": ("partner", "opposite", "mirror"),
    "at": ("coordinates", "xyz", "x", "y", "z"),
}
_BOUNDS = dict.fromkeys(("max", "min", "cmp"), "write it inside the limit, such as limit = { max = 2.5 }")
_MEANT: Mapping[str, str] = _BOUNDS | {
    word: f'did you mean "{key}"?' for key, words in _SYNONYMS.items() for word in words
}


class LimitModel(Strict):
    """``{max, cmp}``, ``{min, cmp}``, ``{min, max, cmp}``, ``{criterion}`` or ``{record_only}``."""

    max: Positive | None = None
    min: Quantity | None = None
    cmp: ComparatorSign | None = None
    unit: UnitName | None = None
    criterion: Id | None = None
    record_only: Flag = False
    decision: DecisionName | None = None
    guard: Quantity | None = None  # r in the guard band w = r U


class ExpectedModel(Strict):
    low: Quantity
    high: Positive


class ConductorModel(Strict):
    length_mm: Positive
    awg: Gauge | None = None
    mm2: Positive | None = None
    metal: MetalName = "copper"


class SectionModel(Strict):
    id: Id
    title: Title


class SharedFields(Strict):
    """What a point may hold and [defaults] may give to all of them."""

    where: Text = ""
    a: Text = ""
    b: Text = ""
    unit: UnitName | None = None
    limit: LimitModel | None = None
    criterion: Id | None = None
    retest: LimitModel | None = None
    expected: ExpectedModel | None = None
    conductor: ConductorModel | None = None
    repeats: Annotated[int, whole_number(1, 9)] = 1
    rule: RuleName = "max"
    method: MethodName = "single"
    current_ma: Positive | None = None  # of the reversed test current, mA: voltages are keyed
    correct_to_20: Flag | None = None
    decision: DecisionName | None = None
    guard: Quantity | None = None
    family: Text = ""
    condition: Text = ""
    prepare: Text = ""
    restore: Text = ""
    caution: Text = ""


class DefaultsModel(SharedFields):
    elsewhere: ClassVar[Mapping[str, str]] = {
        **_MEANT,
        **{key: f"{key} cannot be a default: give it in each point" for key in PER_POINT},
    }


class PointModel(SharedFields):
    elsewhere: ClassVar[Mapping[str, str]] = _MEANT

    id: Id
    section: Id
    title: Title
    pair: Id | None = None
    at: Place | None = None


class PathModel(Strict):
    """Points in series whose values together have a limit of their own."""

    id: Id
    title: Title
    points: tuple[Id, ...]
    limit: LimitModel


_OF_POINTS = frozenset(SharedFields.__annotations__) - {"unit", "correct_to_20", "decision", "guard"}


class HeaderModel(Strict):
    format: Format
    title: Title
    asset: Title
    unit: UnitName
    revision: Text = ""
    source: Text = ""
    check_every: Annotated[int, whole_number(0, 1000)] = 10  # readings; 0 for never
    standard_every: Annotated[int, whole_number(0, 1000)] = 0  # readings; 0 for never
    correct_to_20: Flag = False
    decision: DecisionName | None = None
    guard: Quantity | None = None


class RouteModel(HeaderModel):
    """A whole route file."""

    elsewhere: ClassVar[Mapping[str, str]] = {
        **{key: f"{key} belongs to a point: give it there, or to all in [defaults]" for key in _OF_POINTS},
        "name": "the route's name is that of its file; title is what people call it",
        **dict.fromkeys(("aircraft", "vehicle", "plant", "object"), 'did you mean "asset"?'),
        **dict.fromkeys(("rev", "version", "issue"), 'did you mean "revision"?'),
        **dict.fromkeys(("number_check", "checks"), 'did you mean "check_every"?'),
        **dict.fromkeys(("check_standard", "standard"), 'did you mean "standard_every"?'),
        "series": 'did you mean "paths"?',
    }

    defaults: DefaultsModel = DefaultsModel()
    sections: tuple[SectionModel, ...] = ()
    points: tuple[PointModel, ...] = ()
    paths: tuple[PathModel, ...] = ()
