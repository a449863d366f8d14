"""``session.toml``: written once when a session starts, with everything that judging it needs.

The route is kept as its planner wrote it; instrument, criteria, reasons and cautions in the
forms of the files they come from, so that one set of checks reads both.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any

import tomli_w

from fieldtui.core.measurement.decision import RuleKind
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.route import Limit
from fieldtui.core.plan.session import Crew, Session, measured_at
from fieldtui.core.plan.tables import Criterion, Instrument
from fieldtui.files.route.file import name_refusal
from fieldtui.files.route.mapping import map_route
from fieldtui.files.tables.schema import (
    CautionModel,
    CriterionModel,
    InstrumentModel,
    ReasonsModel,
    cautions_of,
    criterion_of,
    instrument_of,
    reasons_of,
)
from fieldtui.files.toml.fields import Flag, FolderName, Format, Id, Link, Moment, Number, Table, Text, Title
from fieldtui.files.toml.schema import Findings, read_as, refuse
from fieldtui.files.toml.strict import Strict
from fieldtui.files.toml.text import parse_toml

FILE_NAME = "session.toml"


class CrewModel(Strict):
    prober: Text
    recorder: Text


class SessionInstrumentModel(InstrumentModel):
    id: Id


class ElsewhereModel(Strict):
    """A point of the route that another crew takes."""

    id: Id
    title: Title


class PartModel(Strict):
    """Which sections are walked, where the session has part of a route only, and what is left out."""

    sections: tuple[Id, ...]
    left_out: tuple[ElsewhereModel, ...]


class OwnModel(Strict):
    """What is the session's own; all else in session.toml is a snapshot of what it was judged with."""

    format: Format
    id: FolderName
    program: Title
    started: Moment
    job: Text
    practice: Flag
    ambient_c: Number | None = None
    conductor_c: Number | None = None
    transcribed_from: Text = ""
    follows: Text = ""
    chain: Link
    crew: CrewModel


class SessionModel(OwnModel):
    """The whole of session.toml; ``route`` is checked by what checks route files."""

    part: PartModel | None = None
    instrument: SessionInstrumentModel
    route: Table
    criteria: Mapping[Id, CriterionModel] = MappingProxyType({})
    reasons: ReasonsModel
    cautions: tuple[CautionModel, ...] = ()


def freeze_session(
    session: Session, route: Mapping[str, Any], criteria: Mapping[str, Criterion]
) -> tuple[bytes, Session]:
    """The bytes of session.toml, and the session that they say: it was read from them.

    Args:
        session: the facts; its route must be the one that ``route`` maps to.
        route: the route file's tables as loaded, see :class:`RouteFile`.
        criteria: the crew's table; only those that the route names are written.

    Raises:
        BadInputError: with every fact that could not be read back, such as a control character.
    """
    document: dict[str, Any] = {
        "format": 1,
        "id": session.id,
        "program": session.program,
        "started": session.started,
        "job": session.job,
        "practice": session.practice,
    }
    if session.ambient_c is not None:
        document["ambient_c"] = _number(session.ambient_c)
    if session.conductor_c is not None:
        document["conductor_c"] = _number(session.conductor_c)
    document["transcribed_from"] = session.transcribed_from
    document["follows"] = session.follows
    document["chain"] = session.first_link
    document["crew"] = {"prober": session.crew.prober, "recorder": session.crew.recorder}
    if session.part:
        left = [{"id": point, "title": title} for point, title in session.elsewhere.items()]
        document["part"] = {"sections": list(session.part), "left_out": left}
    document["instrument"] = _instrument(session.instrument)
    document["criteria"] = {
        name: _criterion(criteria[name]) for name in sorted(set(_named_criteria(route))) if name in criteria
    }
    document["reasons"] = {kind: list(reasons) for kind, reasons in session.reasons.by_kind.items()}
    document["cautions"] = [
        {"id": caution.id, "title": caution.title, "text": caution.text} for caution in session.cautions
    ]
    document["route"] = {"name": session.route.name, **route}
    data = tomli_w.dumps(document).encode("utf-8")
    return data, parse_session(data, FILE_NAME)  # nothing is written that this program could not read again


def parse_session(data: bytes, file: str) -> Session:
    """The session in ``data``; ``file`` is the name used in problems.

    Raises:
        BadInputError: with every problem of the file.
    """
    text = parse_toml(data, file)
    findings = Findings(text)
    model = read_as(SessionModel, text.data, findings)
    if model is None:
        raise refuse(findings.in_order(), "the session")
    found = {
        name: criterion_of(one, name, ("criteria", name), findings) for name, one in model.criteria.items()
    }
    criteria = {name: criterion for name, criterion in found.items() if criterion is not None}
    cautions = cautions_of(model.cautions, ("cautions",), findings)
    name = model.route.get("name")
    if not isinstance(name, str) or name_refusal(name) is not None:
        findings.add(("route", "name"), "the route has no usable name", "the file was edited or damaged")
    in_route = Findings(text, base=("route",))
    tables = {key: value for key, value in model.route.items() if key != "name"}
    route = map_route(tables, str(name), criteria, in_route).route
    if route is None or findings.has_errors:
        raise refuse([*findings.in_order(), *in_route.in_order()], "the session")
    return Session(
        id=model.id,
        program=model.program,
        started=model.started,
        job=model.job,
        crew=Crew(model.crew.prober, model.crew.recorder),
        instrument=instrument_of(model.instrument, model.instrument.id),
        route=route.at_temperature(measured_at(model.conductor_c, model.ambient_c)),
        reasons=reasons_of(model.reasons),
        cautions=cautions,
        criteria=criteria,
        first_link=model.chain,
        ambient_c=model.ambient_c,
        conductor_c=model.conductor_c,
        transcribed_from=model.transcribed_from,
        practice=model.practice,
        part=tuple(model.part.sections) if model.part is not None else (),
        elsewhere={each.id: each.title for each in model.part.left_out} if model.part is not None else {},
        follows=model.follows,
    )


def _named_criteria(route: Mapping[str, Any]) -> Iterator[str]:
    """Every criterion the route's tables name, in [defaults], in a point, limit or retest."""
    for holder in (route.get("defaults", {}), *route.get("points", []), *route.get("paths", [])):
        for table in (holder, holder.get("limit", {}), holder.get("retest", {})):
            if "criterion" in table:
                yield table["criterion"]


def _number(value: Decimal) -> int | Decimal:
    """The value such that its digits come back as they are: 3 as ``3``, 3.0 as ``3.0``."""
    return int(value) if value.as_tuple().exponent == 0 else value


def _instrument(instrument: Instrument) -> dict[str, Any]:
    table: dict[str, Any] = {
        "id": instrument.id,
        "title": instrument.title,
        "serial": instrument.serial,
        "unit": instrument.unit.value,
        "memory_size": instrument.memory_size,
        "first_number": instrument.first_number,
        "auto_off_s": instrument.auto_off_s,
    }
    for rule in ("erased_number_stays_used", "spoiled_number_stays_used"):
        if not getattr(instrument, rule):  # what most meters do goes without saying
            table[rule] = False
    if instrument.calibration_due is not None:
        table["calibration_due"] = instrument.calibration_due
    standard = instrument.check_standard
    if standard is not None:
        table["check_standard"] = {
            "value": _number(standard.value.value),
            "tolerance": _number(standard.tolerance.to(standard.value.unit).value),
            "unit": standard.value.unit.value,
            "title": standard.title,
        }
    if instrument.settle_s:
        table["settle_s"] = instrument.settle_s
    if instrument.standard_every:
        table["standard_every"] = instrument.standard_every
    if instrument.accuracy is not None:
        table["accuracy"] = _accuracy(instrument.accuracy, instrument.unit)
    return table


def _accuracy(accuracy: Accuracy, unit: Unit) -> dict[str, Any]:
    table = {"percent": _number(accuracy.percent), "floor": _number(accuracy.floor.to(unit).value)}
    if accuracy.resolution is not None:
        table["resolution"] = _number(accuracy.resolution.to(unit).value)
    return {**table, "coverage": _number(accuracy.coverage)}


def _criterion(criterion: Criterion) -> dict[str, Any]:
    limit = criterion.limit
    bounds: dict[str, Resistance | None] = {"max": limit.maximum, "min": limit.minimum}
    given = {key: bound for key, bound in bounds.items() if bound is not None}
    table = {
        "title": criterion.title,
        **{key: _number(bound.value) for key, bound in given.items()},
        "cmp": _sign(limit),
        "unit": next(iter(given.values())).unit.value,
        "source": limit.source,
        "clause": criterion.clause,
        "status": limit.status.value,
    }
    if criterion.rule is not None:
        table["decision"] = criterion.rule.kind.value
        if criterion.rule.kind is not RuleKind.SIMPLE:
            table["guard"] = _number(criterion.rule.factor)
    return table


def _sign(limit: Limit) -> str:
    return (limit.upper if limit.maximum is not None else limit.lower).value
