"""The criteria a session was judged by, with title and clause, from the snapshot in its folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from fieldtui.core.tables import Criterion
from fieldtui.files.disk import Disk
from fieldtui.files.durable import MAX_SESSION, SESSION_NAME
from fieldtui.files.schema import Findings, read_as
from fieldtui.files.tables_schema import CriteriaModel, criterion_of
from fieldtui.files.toml_text import parse_toml


def load_criteria(disk: Disk, folder: Path) -> Mapping[str, Criterion]:
    """The criteria in ``session.toml`` by id; those that cannot be read are left out.

    Raises:
        BadInputError: there is no session here, or its ``session.toml`` is no TOML.
    """
    path = folder / SESSION_NAME
    text = parse_toml(disk.read_file(path, MAX_SESSION), str(path))
    findings = Findings(text)
    tables = {"format": text.data.get("format"), "criteria": text.data.get("criteria", {})}
    model = read_as(CriteriaModel, tables, findings)
    if model is None:
        return {}
    found = {
        name: criterion_of(one, name, ("criteria", name), findings) for name, one in model.criteria.items()
    }
    return {name: criterion for name, criterion in found.items() if criterion is not None}
