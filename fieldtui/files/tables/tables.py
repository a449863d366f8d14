"""The crew's common tables: read together, with the problems of all of them at once."""

from __future__ import annotations

from collections.abc import Callable

from fieldtui.core.plan.tables import Caution, Criterion, Instrument, Reasons, Tables
from fieldtui.errors import BadInputError, Problem
from fieldtui.files.tables.schema import (
    CautionsModel,
    ConductorsModel,
    CriteriaModel,
    CriterionModel,
    InstrumentsModel,
    ReasonsFileModel,
    cautions_of,
    criterion_of,
    instrument_of,
    reasons_of,
)
from fieldtui.files.toml.schema import Findings, M, read_as, read_quietly, refuse
from fieldtui.files.toml.text import parse_toml

CRITERIA = "criteria.toml"
INSTRUMENTS = "instruments.toml"
REASONS = "reasons.toml"
CAUTIONS = "cautions.toml"
FILES = (CRITERIA, INSTRUMENTS, REASONS, CAUTIONS)

ReadFile = Callable[[str], bytes | None]  # a table's bytes by its file name, None where there is none


def load_tables(read: ReadFile) -> Tables:
    """The four tables. A file that is not there is an empty table; see :func:`missing_files`.

    Raises:
        BadInputError: with every problem of every table.
    """
    problems: list[Problem] = []
    tables = Tables(
        criteria=_load_criteria(read, problems),
        instruments=_load_instruments(read, problems),
        reasons=_load_reasons(read, problems),
        cautions=_load_cautions(read, problems),
    )
    if problems:
        raise refuse(problems, "a table")
    return tables


def parse_conductors(data: bytes, file: str) -> ConductorsModel:
    """The reference tables of conductors in ``data``; ``file`` is the name used in problems.

    Raises:
        BadInputError: with every problem of the file.
    """
    findings = Findings(parse_toml(data, file))
    found = read_as(ConductorsModel, findings.text.data, findings)
    if found is None:
        raise refuse(findings.in_order(), "the table")
    return found


def missing_files(read: ReadFile) -> list[Problem]:
    """A warning for each table that is not there, saying what cannot be had without it."""
    lost = {
        CRITERIA: "no route can name a criterion",
        INSTRUMENTS: "no session can be started",
        REASONS: "reasons can only be typed in full",
        CAUTIONS: "the brief and the report show no cautions",
    }
    return [
        Problem(
            what=f"the table is missing: {without}",
            remedy=f"make {name}, or copy it from a new workspace",
            file=name,
            severity="warning",
        )
        for name, without in lost.items()
        if read(name) is None
    ]


def _load_criteria(read: ReadFile, problems: list[Problem]) -> dict[str, Criterion]:
    findings = _parse(read, CRITERIA, problems)
    if findings is None:
        return {}
    read_as(CriteriaModel, findings.text.data, findings)
    tables = findings.text.data.get("criteria")
    criteria: dict[str, Criterion] = {}
    for name, table in tables.items() if isinstance(tables, dict) else ():
        # each for itself, so that one slip does not hide a contradiction in the next
        path = ("criteria", name)
        model = None if findings.is_refused(path) else read_quietly(CriterionModel, table)
        found = None if model is None else criterion_of(model, name, path, findings)
        if found is not None:
            criteria[name] = found
    problems += findings.in_order()
    return criteria


def _load_instruments(read: ReadFile, problems: list[Problem]) -> dict[str, Instrument]:
    loaded = _load(read, INSTRUMENTS, InstrumentsModel, problems)
    if loaded is None:
        return {}
    return {name: instrument_of(model, name) for name, model in loaded[0].instruments.items()}


def _load_reasons(read: ReadFile, problems: list[Problem]) -> Reasons:
    loaded = _load(read, REASONS, ReasonsFileModel, problems)
    return Reasons({}) if loaded is None else reasons_of(loaded[0].reasons)


def _load_cautions(read: ReadFile, problems: list[Problem]) -> tuple[Caution, ...]:
    loaded = _load(read, CAUTIONS, CautionsModel, problems)
    if loaded is None:
        return ()
    model, findings = loaded
    cautions = cautions_of(model.cautions, ("cautions",), findings)
    problems += findings.in_order()
    return cautions


def _load(read: ReadFile, file: str, model: type[M], problems: list[Problem]) -> tuple[M, Findings] | None:
    findings = _parse(read, file, problems)
    if findings is None:
        return None
    found = read_as(model, findings.text.data, findings)
    if found is None:
        problems += findings.in_order()
        return None
    return found, findings


def _parse(read: ReadFile, file: str, problems: list[Problem]) -> Findings | None:
    data = read(file)
    if data is None:
        return None
    try:
        return Findings(parse_toml(data, file))
    except BadInputError as error:
        problems += error.problems
        return None
