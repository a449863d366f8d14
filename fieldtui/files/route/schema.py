"""What a route file may hold, field by field."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar

from pydantic import Field

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
from fieldtui.files.toml.schema import Strict

PER_POINT = ("id", "section", "title", "at", "pair")  # what no two points can share


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
        key: f"{key} cannot be a default: give it in each point" for key in PER_POINT
    }


class PointModel(SharedFields):
    id: Id
    section: Id
    title: Title
    pair: Id | None = None
    at: Place | None = None


class PathModel(Strict):
    """Points in series whose values together have a limit of their own."""

    id: Id
    title: Title
    points: list[Id]
    limit: LimitModel


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

    defaults: DefaultsModel = DefaultsModel()
    sections: list[SectionModel] = Field(default_factory=list)
    points: list[PointModel] = Field(default_factory=list)
    paths: list[PathModel] = Field(default_factory=list)
