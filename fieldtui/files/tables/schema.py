"""What the crew's common tables may hold, field by field, and their mapping to the core."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Annotated

from fieldtui.core.measurement.decision import SIMPLE
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.tables import Caution, CheckStandard, Criterion, Instrument, Reasons
from fieldtui.files.limits import limit_of, stated_rule
from fieldtui.files.route.schema import LimitModel
from fieldtui.files.toml.fields import (
    ComparatorSign,
    Day,
    DecisionName,
    Flag,
    Format,
    Gauge,
    Id,
    MetalName,
    Positive,
    Quantity,
    StatusName,
    Text,
    Title,
    UnitName,
    whole_number,
)
from fieldtui.files.toml.scan import Path
from fieldtui.files.toml.schema import Findings, note_repeated
from fieldtui.files.toml.strict import Strict, keys_of


class CriterionModel(Strict):
    """One acceptance limit with the place it is published in."""

    title: Title
    unit: UnitName
    max: Positive | None = None
    min: Quantity | None = None
    cmp: ComparatorSign
    source: Title
    clause: Text = ""
    status: StatusName
    decision: DecisionName | None = None
    guard: Quantity | None = None


class CriteriaModel(Strict):
    format: Format
    criteria: dict[Id, CriterionModel]


class CheckStandardModel(Strict):
    value: Positive
    tolerance: Positive
    unit: UnitName
    title: Text = ""


class AccuracyModel(Strict):
    """Percent of the reading plus a floor, at a coverage factor; floor and step in the meter's unit."""

    percent: Quantity
    floor: Quantity
    resolution: Quantity | None = None  # one step of the display; left out: from the digits keyed
    coverage: Positive = Decimal(2)


class InstrumentModel(Strict):
    title: Title
    unit: UnitName
    serial: Text = ""
    memory_size: Annotated[int, whole_number(0, 99_999)] = 0  # readings; 0 keeps none
    first_number: Annotated[int, whole_number(0, 99_999)] = 1
    auto_off_s: Annotated[int, whole_number(0, 86_400)] = 0  # seconds; 0 for never
    settle_s: Annotated[int, whole_number(0, 600)] = 0  # seconds; 0 where not known
    erased_number_stays_used: Flag = True
    spoiled_number_stays_used: Flag = True
    calibration_due: Day | None = None
    check_standard: CheckStandardModel | None = None
    standard_every: Annotated[int, whole_number(0, 1000)] = 0  # readings; 0 for never
    accuracy: AccuracyModel | None = None


class InstrumentsModel(Strict):
    format: Format
    instruments: dict[Id, InstrumentModel]


ReasonList = tuple[Title, ...]


class ReasonsModel(Strict):
    """Reasons each picker offers; the first nine answer to a digit."""

    skip: ReasonList = ()
    redo: ReasonList = ()
    void: ReasonList = ()
    attempt: ReasonList = ()
    insert: ReasonList = ()
    jump: ReasonList = ()
    reverse: ReasonList = ()
    pause: ReasonList = ()
    amend: ReasonList = ()
    renumber: ReasonList = ()
    run: ReasonList = ()
    rework: ReasonList = ()
    lead: ReasonList = ()
    release: ReasonList = ()
    meter: ReasonList = ()
    handover: ReasonList = ()
    override: ReasonList = ()
    confirm: ReasonList = ()
    waive: ReasonList = ()
    note: ReasonList = ()


class ReasonsFileModel(Strict):
    format: Format
    reasons: ReasonsModel


class CautionModel(Strict):
    id: Id
    title: Title
    text: Text


class CautionsModel(Strict):
    format: Format
    cautions: tuple[CautionModel, ...]


class GaugeModel(Strict):
    awg: Gauge
    diameter_mm: Positive
    area_mm2: Positive
    ohm_per_km: Positive


class GaugesModel(Strict):
    source: Title
    status: StatusName
    sizes: tuple[GaugeModel, ...]


class CableSizeModel(Strict):
    mm2: Positive
    ohm_per_km: Positive


class CableModel(Strict):
    """Largest resistance at 20 C of one class of conductor."""

    classes: tuple[Annotated[int, whole_number(1, 6)], ...]
    metal: MetalName
    source: Title
    status: StatusName
    sizes: tuple[CableSizeModel, ...]


class ConductorsModel(Strict):
    """The reference tables of conductors; nothing is judged by them."""

    format: Format
    gauges: GaugesModel
    cables: tuple[CableModel, ...]


def criterion_of(model: CriterionModel, name: str, path: Path, findings: Findings) -> Criterion | None:
    """The criterion with the id ``name``, or None with the reason in ``findings``."""
    figures = LimitModel(max=model.max, min=model.min, cmp=model.cmp)
    limit = limit_of(figures, model.unit, {}, path, findings)
    if limit is None:
        return None
    rule = stated_rule(model, path, findings)
    limit = replace(limit, criterion=name, source=model.source, status=model.status, rule=rule or SIMPLE)
    return Criterion(name, model.title, limit, model.clause, rule)


def instrument_of(model: InstrumentModel, name: str) -> Instrument:
    """The meter with the id ``name``."""
    standard = model.check_standard
    return Instrument(
        id=name,
        title=model.title,
        serial=model.serial,
        unit=model.unit,
        memory_size=model.memory_size,
        first_number=model.first_number,
        calibration_due=model.calibration_due,
        auto_off_s=model.auto_off_s,
        settle_s=model.settle_s,
        erased_number_stays_used=model.erased_number_stays_used,
        spoiled_number_stays_used=model.spoiled_number_stays_used,
        check_standard=None
        if standard is None
        else CheckStandard(
            Resistance(standard.value, standard.unit),
            Resistance(standard.tolerance, standard.unit),
            standard.title,
        ),
        standard_every=model.standard_every,
        accuracy=None if model.accuracy is None else _accuracy(model.accuracy, model.unit),
    )


def _accuracy(model: AccuracyModel, unit: Unit) -> Accuracy:
    step = model.resolution
    return Accuracy(
        percent=model.percent,
        floor=Resistance(model.floor, unit),
        resolution=None if step is None else Resistance(step, unit),
        coverage=model.coverage,
    )


def reasons_of(model: ReasonsModel) -> Reasons:
    """Every kind of event with the reasons offered for it; kinds without any are left out."""
    lists = {kind: tuple(dict.fromkeys(getattr(model, kind))) for kind in keys_of(ReasonsModel)}
    return Reasons({kind: reasons for kind, reasons in lists.items() if reasons})


def cautions_of(models: Sequence[CautionModel], path: Path, findings: Findings) -> tuple[Caution, ...]:
    """The cautions in the file's order; ``path`` is where their list stands."""
    note_repeated([((*path, index), model.id) for index, model in enumerate(models)], "caution", findings)
    return tuple(Caution(model.id, model.title, model.text) for model in models)
