"""The boundary: a parsed file held against a model, and every refusal turned into a Problem."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, ClassVar, TypeVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails

from fieldtui.core.text import visible
from fieldtui.errors import BadInputError, Problem, Severity
from fieldtui.files.toml.fields import FAULT, MAX_ID, nearest, shown
from fieldtui.files.toml.scan import Path
from fieldtui.files.toml.text import TomlText, field_name


class Strict(BaseModel):
    """A table of a file: no unknown keys, no silent conversions."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)
    # keys that may be expected here and cannot be, with what to do instead
    elsewhere: ClassVar[Mapping[str, str]] = {}


MAX_PROBLEMS = 5000  # of one file; more than these nobody reads, and a hostile file has millions
MAX_HINTS = 100  # comparing every unknown word with every known one would take minutes

M = TypeVar("M", bound=Strict)


@dataclass(slots=True)
class Findings:
    """Collects the problems of one file, each with its line.

    ``base`` is where the checked part stands in the file, empty for the whole of it.
    """

    text: TomlText
    base: Path = ()
    _found: dict[Problem, None] = field(default_factory=dict)  # a set that keeps its order
    _hints: int = 0
    _refused: set[Path] = field(default_factory=set)  # places with an error at or below them, () for any
    _has_more: bool = False  # than MAX_PROBLEMS

    def add(self, path: Path, what: str, remedy: str = "", severity: Severity = "error") -> None:
        """Note a finding at ``path``, counted from ``base``; the same one is noted once."""
        is_error = severity == "error"
        if len(self._found) >= MAX_PROBLEMS and not (is_error and not self.has_errors):
            self._has_more = True
        else:
            full = (*self.base, *path)
            line = self.text.line_of(full)
            self._found[Problem(what, remedy, self.text.file, line, field_name(full), severity)] = None
        if is_error:
            self._refused.update(path[:length] for length in range(len(path) + 1))

    def warn(self, path: Path, what: str, remedy: str = "") -> None:
        self.add(path, what, remedy, "warning")

    def nearest(self, word: str, known: Iterable[str]) -> str:
        """What to do about an unknown word, see :func:`nearest`; a hostile file gets no more hints."""
        self._hints += 1
        return nearest(word, known) if self._hints <= MAX_HINTS else "correct it or take it out"

    def line_of(self, path: Path) -> int | None:
        return self.text.line_of((*self.base, *path))

    def is_refused(self, path: Path) -> bool:
        """Whether an error is noted at ``path`` or below it."""
        return path in self._refused

    @property
    def has_errors(self) -> bool:
        return () in self._refused

    @property
    def are_full(self) -> bool:
        """Whether errors were noted, and more than are listed."""
        return self._has_more and self.has_errors

    def in_order(self) -> list[Problem]:
        """The problems as they stand in the file."""
        found = sorted(self._found, key=lambda problem: problem.line or 0)
        if self._has_more:
            what = "there are more problems than are listed here"
            severity: Severity = "error" if self.has_errors else "warning"
            found.append(Problem(what, "put these right first", self.text.file, severity=severity))
        return found


def refuse(problems: list[Problem], what: str) -> BadInputError:
    """The error that carries ``problems``; ``what`` names the thing that cannot be used."""
    errors = [problem for problem in problems if problem.severity == "error"]
    first = errors[0]
    count = "1 problem" if len(errors) == 1 else f"{len(errors)} problems"
    return BadInputError(
        f"{what} cannot be used: {count}; {first.what}",
        where=first.where,
        remedy=first.remedy,
        problems=problems,
    )


def read_as(model: type[M], data: object, findings: Findings, path: Path = ()) -> M | None:
    """``data`` as a ``model``, or None with every refusal in ``findings``."""
    try:
        return model.model_validate(data)
    except ValidationError as error:
        for detail in islice(error.errors(include_url=False), MAX_PROBLEMS + 1):
            _translate(detail, model, findings, path)
        return None


def read_quietly(model: type[M], data: object, stand_ins: Mapping[str, object] | None = None) -> M | None:
    """``data`` as a ``model`` without its unacceptable fields; None where a needed one is missing.

    For going on with a file whose problems are already noted. ``stand_ins`` take the place of needed
    fields that are missing or unacceptable.
    """
    try:
        return model.model_validate(data)
    except ValidationError as error:
        if not isinstance(data, dict):
            return None
        details = error.errors(include_url=False, include_context=False, include_input=False)
        bad = {detail["loc"][0] for detail in details if detail["loc"]}
    try:
        good = {key: value for key, value in data.items() if key not in bad}
        return model.model_validate({**(stand_ins or {}), **good})
    except ValidationError:
        return None


def note_repeated(ids: Sequence[tuple[Path, str]], noun: str, findings: Findings) -> None:
    """Note every id used a second time; ``ids`` holds the path of each table and its id."""
    first: dict[str, Path] = {}
    for path, one in ids:
        if one in first:
            line = findings.line_of((*first[one], "id"))
            place = f" in line {line}" if line is not None else ""
            findings.add(
                (*path, "id"), f'{noun} id "{one}" is already used{place}', "give it an id of its own"
            )
        else:
            first[one] = path


def _translate(detail: ErrorDetails, model: type[Strict], findings: Findings, path: Path) -> None:
    kind = detail["type"]
    inner = tuple(part for part in detail["loc"] if part != "[key]")
    place = (*path, *inner)
    if kind == FAULT:
        context = detail.get("ctx", {})
        findings.add(place, str(context.get("what", "")), str(context.get("remedy", "")))
    elif kind == "missing":
        findings.add(place, f"{field_name(place[-1:])} is missing", "add it")
    elif kind == "extra_forbidden":
        key = str(inner[-1])
        holder = _model_at(model, inner[:-1])
        remedy = holder.elsewhere.get(key) or findings.nearest(key, holder.model_fields)
        cut = key if len(key) <= MAX_ID else key[:MAX_ID] + "…"
        findings.add(place, f'unknown key "{visible(cut)}"', remedy)
    elif kind == "list_type":
        findings.add(place, f"{shown(detail['input'])} stands where a list is wanted", "write it as [ … ]")
    elif kind in ("model_type", "dict_type"):
        findings.add(place, f"{shown(detail['input'])} stands where a table is wanted", "write key = value")
    else:
        findings.add(place, f"{shown(detail['input'])} cannot stand here", "write a single value")


def _model_at(model: type[Strict], path: Path) -> type[Strict]:
    """The model of the table at ``path`` inside ``model``."""
    is_key = False
    for part in path:
        if is_key or isinstance(part, int):
            is_key = False
            continue
        annotation = model.model_fields[part].annotation
        model = _model_in(annotation) or model
        is_key = get_origin(annotation) is dict
    return model


def _model_in(annotation: Any) -> type[Strict] | None:
    if isinstance(annotation, type) and issubclass(annotation, Strict):
        return annotation
    return next((found for inner in get_args(annotation) if (found := _model_in(inner))), None)
