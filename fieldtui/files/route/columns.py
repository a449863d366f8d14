"""Which column of somebody's spreadsheet holds what of a point: given, or guessed and shown.

A guess rests on the column's name, against words people use for it, and on its cells: a column of
ids has no id twice, one of limits holds figures. Numbers whose meaning hangs on more than their
name (places, lengths) are taken only under a name that leaves no doubt. Figures that judge are
taken by cells alone only where one column has them and they are compared (``<``, ``max``): what was
measured looks like a limit too. Where two columns could be it, the person is asked.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher, get_close_matches

from fieldtui.core.measurement.ohms import NotAResistanceError, Unit
from fieldtui.core.text import quoted
from fieldtui.errors import Problem
from fieldtui.files.route.point_table import PointTable
from fieldtui.files.route.written_limits import (
    parse_figure,
    parse_written_comparator,
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
              "allowable", "max resistance", "grenzwert", "grenze", "grenswaarde"),
    "max": ("maximum", "max limit", "upper limit", "max value", "not above", "high limit"),
    "min": ("minimum", "min limit", "lower limit", "min value", "not below", "low limit", "mindestwert"),
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
    "decision", "cmp", "metal", "repeats",
})  # fmt: skip
_NAMES = {field: (field.replace("_", " "), *names) for field, names in FIELDS.items()}
_WORDS = {field: [set(name.split()) for name in names if len(name) > 3] for field, names in _NAMES.items()}
# What the cells of a field must look like; any text fits the fields that are not here.
_LOOKS = {
    "id": "id", "unit": "unit", "limit": "limit", "retest": "limit", "max": "limit", "min": "limit",
    "expected_low": "figure", "expected_high": "figure", "criterion": "criterion", "section": "section",
}  # fmt: skip
_JUDGING = frozenset(field for field, look in _LOOKS.items() if look == "limit")
_SAYS_LIMIT = frozenset({"limit", "limits", "max", "maximum", "min", "minimum"})
# Under these a bare figure is no upper limit.
_SAYS_LOWER = frozenset(
    {"low", "lower", "lo", "min", "minimum", "minimal", "least", "mindestwert", "untergrenze"}
)
# Bare figures under these are no resistances.
_SAYS_OTHER = re.compile(
    r"\b(?:mm2?|cm|km|nm|inch(?:es)?|ft|celsius|volts?|mv|kv|amps?|amperes?|ma|kg|lb|psi|bar|hz|percent"
    r"|length|width|torque|temperature|voltage)\b"
)
# Names of what was measured, in a few languages; common usage, no source. They hold no limits.
_SAYS_READING = re.compile(
    r"\b(?:results?|readings?|measured|measurements?|actual|observed|obtained|recorded|as (?:found|left)"
    r"|mess(?:wert|ung|ergebnis)\w*|gemessen\w*|ergebnis\w*|ist(?:wert\w*)?|résultats?|mesur\w+"
    r"|resultad\w+|medid\w+|medici\w+|risultat\w+|misur\w+|resultaat|meting\w*|gemeten)\b"
)
_SAYS_VALUE = frozenset(
    {"value", "values", "wert", "werte", "valeur", "valeurs", "valor", "valore", "waarde"}
)
_LOOKED_AT = 60  # cells of a column, spread over it: 10,000 tell no more
_ALIKE = 0.8  # how much of two names must be the same
_ENOUGH = 0.5  # of a score of at most 1
_SURE = 0.8  # share of a column's cells that must look the part
_BY_CELLS = 0.55  # score of a column known by its cells alone
_BY_SIGNS = 0.995  # the same, of comparators: by any name but ours, they are to be heeded
_NAME, _CELLS = "by its name", "by its cells"  # why a column is taken
_NAMED = 3  # columns named in a question
_FEW = 5  # cells that say nothing of how often each stands
_UNIT_WORD = re.compile(r"\b(?:micro?|milli|kilo?|mega?|[uµμmkKM])?[ -]?(?:ohms?\b|Ω)", re.IGNORECASE)
_ID_CELL = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._/-]*", re.ASCII)
_LIMIT_SIGN = re.compile(r"[<>≤≥]|ohm|Ω", re.IGNORECASE)
_OHMIC = re.compile(r"(?=.*[0-9]).*(?:ohm|Ω)", re.IGNORECASE)
_COMPARED = re.compile(
    r"[<>≤≥⩽⩾]|\b(?:max|min|maximum|minimum|less|lower|more|greater|higher|below|under|above|over"
    r"|at most|at least|up to|to)\b",
    re.IGNORECASE,
)
_MEANT = re.compile(r"(?=.*[0-9])(?:.*(?:[<>≤≥]|ohm|Ω)|[0-9.,]+$)", re.IGNORECASE)
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
            problems.append(Problem(f"{quoted(text, 80)} is no mapping", "write it as: id=THEIR COLUMN"))
        elif name not in FIELDS:
            problems.append(Problem(f"{quoted(name)} is nothing a point has", _nearest(name, FIELDS)))
        elif column and column not in table.columns:
            what = f"there is no column {quoted(column, 80)} for {name}"
            problems.append(Problem(what, _nearest(column, table.columns), table.file))
        elif name in said or (column and column in said.values()):
            again = name if name in said else column
            problems.append(Problem(f"{quoted(again, 80)} is mapped twice", "take one of the two out"))
        else:
            said[name] = column
    return said, problems


def match_columns(
    table: PointTable,
    said: Mapping[str, str],
    criteria: Collection[str],
    doubts: list[Problem] | None = None,
) -> list[Taken]:
    """The columns taken, in the file's order: those that were said, then the likeliest of the rest.

    What could be in one of several columns is taken from none of them, and goes into ``doubts``.
    """
    taken = [Taken(field, column, "given", header_unit(column)) for field, column in said.items() if column]
    fields = [field for field in FIELDS if field not in said]
    given = {each.column for each in taken}
    columns = [_Column(table, column, criteria) for column in table.columns if column not in given and fields]
    guesses = [guess for column in columns for field in fields if (guess := column.guess(field))]
    filled: set[str] = set()
    for guess in sorted(guesses, key=lambda guess: -guess.score):
        if guess.field not in filled and guess.column not in given:
            taken.append(guess)
            filled.add(guess.field)
            given.add(guess.column)
    for field, rivals in _doubtful(taken, guesses, columns).items():
        taken = [each for each in taken if each.field != field]
        if rivals and doubts is not None:
            doubts.append(_asked(field, rivals, table.file))
    places = {column: place for place, column in enumerate(table.columns)}
    return sorted(taken, key=lambda each: places[each.column])


def _doubtful(
    taken: Sequence[Taken], guesses: Sequence[Taken], columns: Sequence[_Column]
) -> dict[str, list[str]]:
    """Fields that cannot be told, with the columns that could be them; with none, to leave a field alone."""
    doubtful: dict[str, list[str]] = {}
    by_name = {column.name: column for column in columns}
    fields, claimed = {each.field for each in taken}, {each.column for each in taken}

    def is_rival(other: Taken, each: Taken) -> bool:
        if (other.field, other.why) != (each.field, each.why) or other.column in claimed:
            return False
        return other.why == _CELLS or by_name[other.column].is_of_limits

    for each in taken:
        if each.why != _CELLS and not (each.why == _NAME and each.field in _JUDGING and each.score < 1):
            continue  # said, or under a name that says it
        rivals = [each.column, *(other.column for other in guesses if is_rival(other, each))]
        is_plain = each.why == _CELLS and each.field == "limit" and not by_name[each.column].is_compared
        if is_plain and fields & {"max", "min"}:
            doubtful[each.field] = []  # what else looks like resistances was measured
        elif is_plain or len(rivals) > 1:
            doubtful[each.field] = rivals
    return doubtful


def _asked(field: str, columns: Sequence[str], file: str) -> Problem:
    """The question which column a field is in."""
    known = " and ".join(quoted(column) for column in columns[:_NAMED])
    more = f" and {len(columns) - _NAMED} more" if len(columns) > _NAMED else ""
    if len(columns) > 1:
        what = f"the columns {known}{more} could each be {field}"
    else:
        what = f"the column {known} could be {field}, or what was measured"
    remedy = f'say which it is: --map "{field}={columns[0]}", or --map "{field}=" where none is'
    return Problem(what, remedy, file)


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


class _Column:
    """One column of the table, and what is worked out of it once for all fields.

    The costly looks, at most :data:`_LOOKED_AT` of its cells, are taken only where a field asks for them.
    """

    def __init__(self, table: PointTable, name: str, criteria: Collection[str]) -> None:
        self.name = name
        self._plain = _plain_name(name)
        self._words = set(self._plain.split())
        self._is_reading = _SAYS_READING.search(self._plain) is not None and not self._words & {
            "limit",
            "limits",
        }
        self._likeness = SequenceMatcher()
        self._likeness.set_seq2(self._plain)  # the side that is worked out once
        self._cells = table.cells(name)
        self._times = Counter(self._cells)
        self._some = self._cells[:: -(-len(self._cells) // _LOOKED_AT) or 1]
        self._decimal_comma = table.decimal_comma
        self._criteria = criteria
        self._shares: dict[str, float] = {}  # by what the cells may be

    def guess(self, field: str) -> Taken | None:
        """This column as ``field``, None where it does not look like it."""
        if field in _JUDGING and self._is_no(field):
            return None
        by_name = self._name_score(field)
        if field == "cmp" and not by_name and self._some and self._is_of_signs():
            return Taken(field, self.name, _CELLS, None, _BY_SIGNS)
        share = self._share(field) if field in _LOOKS else None
        if by_name == 1 or (by_name and share is None):  # our own name is meant, whatever stands below it
            score, why = by_name, _NAME
        elif by_name and share is not None:
            share = max(share, self._meant(field))
            score, why = by_name * share if share >= _ENOUGH else 0, _NAME
            if share and field in _JUDGING and self._words & _SAYS_LIMIT:
                score = max(score, _ENOUGH * _SURE)  # so that its bad cells are told, and not all of it left
        elif share is not None and self._fits_alone(field, share):
            score, why = _BY_CELLS, _CELLS
        else:
            return None
        if score < _ENOUGH * _SURE:
            return None
        return Taken(field, self.name, why, header_unit(self.name), score)

    def _is_no(self, field: str) -> bool:
        """Whether the column's name says that its figures judge nothing, or not as ``field``."""
        if self._is_reading or (field in ("limit", "max") and self._words & _SAYS_LOWER):
            return True
        says_other = _SAYS_OTHER.search(self._plain) is not None and header_unit(self.name) is None
        return says_other and self._part(_OHMIC) < _ENOUGH

    def _is_of_signs(self) -> bool:
        return all(_is_understood(parse_written_comparator, cell) for cell in self._some)

    @property
    def is_of_limits(self) -> bool:
        """Whether the cells can be understood as limits."""
        return self._share("limit") >= _SURE

    @property
    def is_compared(self) -> bool:
        """Whether some cell says how a value is to stand to it."""
        return any(_COMPARED.search(cell) for cell in self._some)

    def _fits_alone(self, field: str, share: float) -> bool:
        """Whether cells alone, ``share`` of which look the part, can say that the column is this field."""
        if field != "limit":
            return share >= _SURE and self._is_telling(field)
        if self._words & _SAYS_VALUE or not self._is_telling(field):
            return False
        # Most have to be meant; one that nobody understands is told when the rows are taken.
        is_meant = self._meant(field) >= _SURE and share >= _ENOUGH
        return share >= _SURE or is_meant or self._part(_OHMIC) >= _SURE

    def _name_score(self, field: str) -> float:
        name = self._plain
        names = _NAMES[field]
        if name in names:
            return 1 - 0.01 * names.index(name)
        if field in _EXACT or not name:
            return 0
        if any(words <= self._words for words in _WORDS[field]):
            return 0.7
        return 0.8 * max(map(self._alike, names)) if len(name) > 4 else 0

    def _alike(self, known: str) -> float:
        """How alike a known name is, 0 below what counts; the quick upper bounds are asked first."""
        short, long = sorted((len(known), len(self._plain)))
        if 2 * short < _ALIKE * (short + long):
            return 0
        like = self._likeness
        like.set_seq1(known)
        if like.quick_ratio() < _ALIKE:
            return 0
        ratio = like.ratio()
        return ratio if ratio >= _ALIKE else 0

    def _share(self, field: str) -> float:
        """The share of cells that look like ``field``; looked at once for all fields of one look."""
        look = _LOOKS[field]
        if look not in self._shares:
            self._shares[look] = self._looked_at(look)
        return self._shares[look]

    def _meant(self, field: str) -> float:
        """The share of cells that somebody meant as a limit, whether or not they can be understood."""
        if field not in _JUDGING or not self._some:
            return 0
        return self._part(_MEANT)

    def _part(self, pattern: re.Pattern[str]) -> float:
        """The share of cells that begin like a pattern."""
        return sum(pattern.match(cell) is not None for cell in self._some) / len(self._some or "-")

    def _looked_at(self, look: str) -> float:
        cells = self._some
        if not cells or (look == "id" and len(self._times) < len(self._cells) * _ENOUGH):
            return 0
        fits: dict[str, Callable[[str], bool]] = {
            "id": lambda cell: len(cell) <= MAX_ID and _ID_CELL.fullmatch(cell) is not None,
            "unit": lambda cell: _is_understood(parse_written_unit, cell),
            "limit": lambda cell: (
                cell in self._criteria
                or _is_understood(
                    parse_written_limit, split_criterion(cell)[0], Unit.OHM, self._decimal_comma
                )
            ),
            "figure": lambda cell: _is_understood(parse_figure, cell, Unit.OHM, self._decimal_comma),
            "criterion": lambda cell: cell in self._criteria,
            # a section has several points
            "section": lambda cell: len(self._cells) <= _FEW or self._times[cell] > 1,
        }
        return sum(map(fits[look], cells)) / len(cells)

    def _is_telling(self, field: str) -> bool:
        """Whether cells alone can say that the column is this field."""
        if field == "id":
            if self._is_reading or any(_LIMIT_SIGN.search(cell) for cell in self._some):
                return False
            is_short = all(len(cell) <= 16 and any(c.isdigit() for c in cell) for cell in self._some)
            return is_short and len(self._times) == len(self._cells)
        if field == "limit":  # bare figures may be anything
            return header_unit(self.name) is not None or any(map(_LIMIT_SIGN.search, self._some))
        return field in ("unit", "criterion")


def _plain_name(column: str) -> str:
    """``Max. [mΩ]`` as ``max``: units of resistance and signs left out."""
    text = _UNIT_WORD.sub(" ", column).casefold().replace("²", "2")
    return " ".join(re.findall(r"[^\W_]+", text))


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
    return f"did you mean {quoted(close[0], 80)}?" if close else "known: " + ", ".join(known)
