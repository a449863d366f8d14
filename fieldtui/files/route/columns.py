"""Which column of somebody's spreadsheet holds what of a point: given, or guessed and shown.

A guess rests on the column's name, against words people use for it, and on its cells: a column of
ids has no id twice, one of limits holds figures. Numbers whose meaning hangs on more than their
name (places, lengths) are taken only under a name that leaves no doubt.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher, get_close_matches

from fieldtui.core.measurement.ohms import NotAResistanceError, Unit
from fieldtui.errors import Problem
from fieldtui.files.route.point_table import PointTable
from fieldtui.files.route.written_limits import (
    parse_figure,
    parse_written_limit,
    parse_written_unit,
    split_criterion,
)
from fieldtui.files.toml.fields import MAX_ID

# The field, and names under which people keep it, the surest first.
FIELDS: Mapping[str, tuple[str, ...]] = {
    "id": ("point id", "point", "point no", "no", "nr", "number", "item no", "pos", "ref", "tag", "bond no"),
    "title": ("description", "designation", "name", "test point", "item", "bond"),
    "section": ("section id", "group", "zone", "area", "system"),
    "section_title": ("section name", "group name"),
    "where": ("location", "position", "station", "place", "access", "zone", "area"),
    "a": ("from", "point a", "probe a", "probe 1", "from point", "measured part", "part", "component"),
    "b": ("to", "point b", "probe b", "probe 2", "to point", "reference", "reference point", "ground",
          "ground point", "earth", "structure", "bonded to"),
    "unit": ("units", "unit of measure"),
    "limit": ("acceptance limit", "acceptance", "acceptance criteria", "requirement", "required", "allowed",
              "allowable", "max resistance"),
    "max": ("maximum", "max limit", "upper limit", "max value", "not above"),
    "min": ("minimum", "min limit", "lower limit", "min value", "not below"),
    "cmp": ("comparator", "sign"),
    "criterion": ("criteria", "class", "bond class", "standard"),
    "retest": ("retest limit", "limit after rework", "after rework"),
    "expected": ("expected value", "expected band", "typical", "usual"),
    "expected_low": ("expected min", "typical low"),
    "expected_high": ("expected max", "typical high"),
    "awg": ("gauge", "wire gauge", "awg size"),
    "mm2": ("area mm2", "size mm2", "cross section mm2"),
    "length_mm": ("length mm", "jumper length mm", "conductor length mm", "cable length mm"),
    "metal": ("conductor metal", "conductor material"),
    "repeats": ("readings", "repetitions"),
    "rule": ("readings rule",),
    "method": ("measuring method",),
    "current_ma": ("test current ma",),
    "correct_to_20": ("correct to 20 c",),
    "decision": ("decision rule",),
    "guard": ("guard band factor",),
    "family": ("kind", "type", "bond type"),
    "condition": ("conditions", "configuration", "state of the asset"),
    "prepare": ("preparation", "surface preparation", "cleaning"),
    "restore": ("restoration", "refinish", "finish", "protection"),
    "caution": ("cautions", "warning", "warnings", "safety"),
    "pair": ("paired with", "partner", "opposite", "mirror"),
    "x": ("x in",), "y": ("y in",), "z": ("z in",),
}  # fmt: skip

# A name that is merely alike will not do for these.
_EXACT = frozenset({
    "x", "y", "z", "mm2", "awg", "length_mm", "guard", "rule", "method", "current_ma", "correct_to_20",
    "decision", "cmp", "metal",
})  # fmt: skip
_ENOUGH = 0.5  # of a score of at most 1
_SURE = 0.8  # share of a column's cells that must look the part
_BY_CELLS = 0.55  # score of a column known by its cells alone
_FEW = 5  # cells that say nothing of how often each stands
_UNIT_WORD = re.compile(r"\b(?:micro?|milli|kilo?|mega?|[uµμmkKM])?[ -]?(?:ohms?\b|Ω)", re.IGNORECASE)
_ID_CELL = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._/-]*", re.ASCII)
_PAIR = re.compile(r",(?=\s*[a-z0-9_]+\s*=)")


@dataclass(frozen=True, slots=True)
class Taken:
    """One field and the column it is taken from; ``unit`` is what the column's name says."""

    field: str
    column: str
    why: str
    unit: Unit | None = None
    score: float = 1.0


def parse_map(texts: Sequence[str], table: PointTable) -> tuple[dict[str, str], list[Problem]]:
    """What was said of columns: ``id=Bond no,limit=Max [mΩ]``, or ``pair=`` for none.

    Returns columns by field, empty where the field is to stay empty, and every problem.
    """
    said: dict[str, str] = {}
    problems: list[Problem] = []
    for text in (piece for each in texts for piece in _PAIR.split(each)):
        name, sign, column = (part.strip() for part in text.partition("="))
        if not sign:
            problems.append(Problem(f"{text[:80]!a} is no mapping", "write it as: id=THEIR COLUMN"))
        elif name not in FIELDS:
            problems.append(Problem(f"{name[:40]!a} is nothing a point has", _nearest(name, FIELDS)))
        elif column and column not in table.columns:
            what = f"there is no column {column[:80]!a} for {name}"
            problems.append(Problem(what, _nearest(column, table.columns), table.file))
        elif name in said or (column and column in said.values()):
            again = name if name in said else column
            problems.append(Problem(f"{again[:80]!a} is mapped twice", "take one of the two out"))
        else:
            said[name] = column
    return said, problems


def match_columns(table: PointTable, said: Mapping[str, str], criteria: Collection[str]) -> list[Taken]:
    """The columns taken, in the file's order: those that were said, then the likeliest of the rest."""
    taken = [Taken(field, column, "given", header_unit(column)) for field, column in said.items() if column]
    fields = [field for field in FIELDS if field not in said]
    columns = [column for column in table.columns if column not in said.values()]
    guesses = [
        guess for column in columns for field in fields if (guess := _guess(table, field, column, criteria))
    ]
    for guess in sorted(guesses, key=lambda guess: -guess.score):
        if not any(guess.field == each.field or guess.column == each.column for each in taken):
            taken.append(guess)
    return sorted(taken, key=lambda each: table.columns.index(each.column))


def header_unit(name: str) -> Unit | None:
    """The unit that a column's name says, None where it says none or a doubtful one."""
    found = _UNIT_WORD.search(name)
    try:
        return parse_written_unit(found.group()) if found is not None else None
    except NotAResistanceError:
        return None


def header_doubt(name: str) -> str:
    """Why the unit in a column's name cannot be told, empty where it can or there is none."""
    found = _UNIT_WORD.search(name)
    try:
        if found is not None:
            parse_written_unit(found.group())
    except NotAResistanceError as error:
        return str(error)
    return ""


def _guess(table: PointTable, field: str, column: str, criteria: Collection[str]) -> Taken | None:
    cells = table.cells(column)
    by_name = _name_score(field, column)
    share = _share(field, cells, table, criteria)
    if by_name == 1 or (by_name and share is None):  # our own name is meant, whatever stands below it
        score, why = by_name, "by its name"
    elif by_name and share is not None:
        score, why = by_name * share if share >= _ENOUGH else 0, "by its name"
    elif share is not None and share >= _SURE and _is_telling(field, cells):
        score, why = _BY_CELLS * share, "by its cells"
    else:
        return None
    return Taken(field, column, why, header_unit(column), score) if score >= _ENOUGH * _SURE else None


def _name_score(field: str, column: str) -> float:
    name = _plain_name(column)
    own = field.replace("_", " ")
    names = (own, *FIELDS[field])
    if name in names:
        return 1 - 0.01 * names.index(name)
    if field in _EXACT or not name:
        return 0
    words = set(name.split())
    if any(set(each.split()) <= words for each in names if len(each) > 3):
        return 0.7
    close = max(SequenceMatcher(None, name, each).ratio() for each in names)
    return 0.8 * close if close >= 0.8 and len(name) > 4 else 0


def _plain_name(column: str) -> str:
    """``Max. [mΩ]`` as ``max``: units of resistance and signs left out."""
    text = _UNIT_WORD.sub(" ", column).casefold().replace("²", "2")
    return " ".join(re.findall(r"[^\W_]+", text))


def _share(field: str, cells: list[str], table: PointTable, criteria: Collection[str]) -> float | None:
    """The share of cells that fit the field, None for a field that any text fits."""
    times = Counter(cells)
    fits: dict[str, Callable[[str], bool]] = {
        "id": lambda cell: len(cell) <= MAX_ID and _ID_CELL.fullmatch(cell) is not None,
        "unit": lambda cell: _is_understood(parse_written_unit, cell),
        "limit": lambda cell: (
            cell in criteria
            or _is_understood(parse_written_limit, split_criterion(cell)[0], Unit.OHM, table.decimal_comma)
        ),
        "max": lambda cell: _is_understood(parse_figure, cell, Unit.OHM, table.decimal_comma),
        "criterion": lambda cell: cell in criteria,
        "section": lambda cell: len(cells) <= _FEW or times[cell] > 1,  # a section has several points
    }
    fits["min"] = fits["expected_low"] = fits["expected_high"] = fits["max"]
    fits["retest"] = fits["limit"]
    if field not in fits:
        return None
    if not cells or (field == "id" and len(times) < len(cells) * _ENOUGH):
        return 0
    return sum(map(fits[field], cells)) / len(cells)


def _is_telling(field: str, cells: list[str]) -> bool:
    """Whether cells alone can say that a column is this field."""
    if field == "id":
        is_short = all(len(cell) <= 16 and any(c.isdigit() for c in cell) for cell in cells)
        return is_short and len(set(cells)) == len(cells)
    if field == "limit":  # bare figures may be anything
        return any(re.search(r"[<>≤≥]|ohm|Ω", cell, re.IGNORECASE) for cell in cells)
    return field in ("unit", "criterion")


def _is_understood(
    parse: Callable[..., object], cell: str, unit: Unit | None = None, decimal_comma: bool = False
) -> bool:
    try:
        if unit is None:
            parse(cell)
        else:
            parse(cell, unit, decimal_comma=decimal_comma)
    except NotAResistanceError:
        return False
    return True


def _nearest(word: str, known: Collection[str]) -> str:
    close = get_close_matches(word, known, n=1)
    return f"did you mean {close[0]!a}?" if close else "known: " + ", ".join(known)
