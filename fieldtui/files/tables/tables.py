"""The crew's common tables: read together, with the problems of all of them at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

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
from fieldtui.files.toml.schema import Findings, read_as, read_quietly, refuse
from fieldtui.files.toml.strict import M
from fieldtui.files.toml.text import parse_toml

CRITERIA = "criteria.toml"
INSTRUMENTS = "instruments.toml"
REASONS = "reasons.toml"
CAUTIONS = "cautions.toml"
FILES = (CRITERIA, INSTRUMENTS, REASONS, CAUTIONS)

ReadFile = Callable[[str], bytes | None]  # a table's bytes by its file name, None where there is none


def load_criteria(read: ReadFile, place: Callable[[str], str] = str) -> dict[str, Criterion]:
    """The criteria alone, which are all that a route is read with. Arguments and errors as below."""
    problems: list[Problem] = []
    criteria = _load_criteria(_Files(read, place), problems)
    if problems:
        raise refuse(problems, "a table")
    return criteria


def load_tables(read: ReadFile, place: Callable[[str], str] = str) -> Tables:
    """The four tables. A file that is not there is an empty table; see :func:`missing_files`.

    ``place`` makes of a table's file name what problems call it, its path.

    Raises:
        BadInputError: with every problem of every table.
    """
    problems: list[Problem] = []
    files = _Files(read, place)
    tables = Tables(
        criteria=_load_criteria(files, problems),
        instruments=_load_instruments(files, problems),
        reasons=_load_reasons(files, problems),
        cautions=_load_cautions(files, problems),
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


@dataclass(frozen=True, slots=True)
class _Files:
    """Where tables come from, and what their files are called in problems."""

    read: ReadFile
    place: Callable[[str], str]


def _load_criteria(files: _Files, problems: list[Problem]) -> dict[str, Criterion]:
    findings = _parse(files, CRITERIA, problems)
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


def _load_instruments(files: _Files, problems: list[Problem]) -> dict[str, Instrument]:
    loaded = _load(files, INSTRUMENTS, InstrumentsModel, problems)
    if loaded is None:
        return {}
    return {name: instrument_of(model, name) for name, model in loaded[0].instruments.items()}


def _load_reasons(files: _Files, problems: list[Problem]) -> Reasons:
    loaded = _load(files, REASONS, ReasonsFileModel, problems)
    return Reasons({}) if loaded is None else reasons_of(loaded[0].reasons)


def _load_cautions(files: _Files, problems: list[Problem]) -> tuple[Caution, ...]:
    loaded = _load(files, CAUTIONS, CautionsModel, problems)
    if loaded is None:
        return ()
    model, findings = loaded
    cautions = cautions_of(model.cautions, ("cautions",), findings)
    problems += findings.in_order()
    return cautions


def _load(files: _Files, file: str, model: type[M], problems: list[Problem]) -> tuple[M, Findings] | None:
    findings = _parse(files, file, problems)
    if findings is None:
        return None
    found = read_as(model, findings.text.data, findings)
    if found is None:
        problems += findings.in_order()
        return None
    return found, findings


def _parse(files: _Files, file: str, problems: list[Problem]) -> Findings | None:
    data = files.read(file)
    if data is None:
        return None
    try:
        return Findings(parse_toml(data, files.place(file)))
    except BadInputError as error:
        problems += error.problems
        return None
