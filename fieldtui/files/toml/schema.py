"""The boundary: a parsed file held against a model, and every refusal turned into a Problem."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice

from fieldtui.errors import BadInputError, Problem, Severity
from fieldtui.files.toml.fields import RefusedError, nearest
from fieldtui.files.toml.scan import Path
from fieldtui.files.toml.strict import M, keys_of, read
from fieldtui.files.toml.text import TomlText, field_name

MAX_PROBLEMS = 5000  # of one file; more than these nobody reads, and a hostile file has millions
MAX_HINTS = 100  # comparing every unknown word with every known one would take minutes


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
    count = "" if len(errors) == 1 else f"{len(errors)} problems, the first: "
    return BadInputError(
        f"{what} cannot be used: {count}{first.what}",
        where=first.where,
        remedy=first.remedy,
        problems=problems,
    )


def read_as(model: type[M], data: object, findings: Findings, path: Path = ()) -> M | None:
    """``data`` as a ``model``, or None with every refusal in ``findings``."""
    try:
        return read(model, data)
    except RefusedError as refused:
        for place, fault in islice(refused.found, MAX_PROBLEMS + 1):
            remedy = fault.remedy
            if fault.in_table is not None and not remedy:
                remedy = findings.nearest(str(place[-1]), keys_of(fault.in_table))
            findings.add((*path, *place), fault.what, remedy)
        return None


def read_quietly(model: type[M], data: object) -> M | None:
    """``data`` as a ``model`` without its unacceptable fields; None where a needed one is missing.

    For going on with a file whose problems are already noted.
    """
    try:
        return read_with(model, data, {}) if isinstance(data, dict) else None
    except RefusedError:
        return None


def read_with(model: type[M], data: Mapping[str, object], stand_ins: Mapping[str, object]) -> M:
    """``data`` as a ``model`` without its unacceptable fields, ``stand_ins`` in the place of needed ones.

    Raises:
        RefusedError: a needed field is missing or unacceptable, and nothing stands in for it.
    """
    try:
        return read(model, data)
    except RefusedError as refused:
        bad = {path[0] for path, _ in refused.found}
    good = {key: value for key, value in data.items() if key not in bad}
    return read(model, {**stand_ins, **good})


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
