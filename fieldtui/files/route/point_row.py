"""One row of a list of points: its cells as figures, limits and numbers, every problem with its line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial
from typing import Any, TypeVar

from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, Unit, parse_number
from fieldtui.core.plan.route import Comparator, Limit
from fieldtui.core.text import quoted
from fieldtui.errors import Problem
from fieldtui.files.route.columns import Taken
from fieldtui.files.route.decimal_signs import DecimalSigns
from fieldtui.files.route.written_limits import (
    NoUnitError,
    WrittenLimit,
    parse_figure,
    parse_written_comparator,
    parse_written_limit,
    split_criterion,
)

T = TypeVar("T")
_UPPER = (Comparator.LESS, Comparator.AT_MOST)
_STRICT = (Comparator.LESS, Comparator.MORE)
_YES = {"yes": True, "true": True, "1": True, "x": True, "no": False, "false": False, "0": False}


@dataclass(slots=True)
class Row:
    """The cells of one line by field, empty ones left out, and where to say what is wrong with them."""

    file: str
    line: int
    cells: Mapping[str, str]
    columns: Mapping[str, Taken]  # by field
    signs: DecimalSigns
    criteria: Mapping[str, Limit]
    problems: list[Problem]
    mixed: str = ""  # the list's units in words, where there are several and a bare figure could be in any
    is_guessed: bool = False  # whether the unit of bare figures is that of the other rows
    own: Unit | None = None  # what the line's cell for the unit says
    # found on the way
    sign: Comparator | None = None  # what the column for comparators says
    bare: int = 0  # limits without a comparator
    like_limit: bool = False  # a limit after rework without a comparator, which takes its limit's
    unitless: bool = False  # whether a figure got the guessed unit
    beside: Unit | None = None  # of the limit, where a bare figure beside it could be in either of two

    def get(self, name: str) -> str:
        return self.cells.get(name, "")

    def written(self, name: str, unit: Unit | None) -> Limit | str | None:
        """The limit in a cell, bare figures with the row's comparator; or the id of the criterion named."""
        text = self.get(name)
        if not text:
            return None
        if text in self.criteria:
            return text
        text, criterion = split_criterion(text)
        written = self._limit_in(name, text, unit)
        if written is None:
            return None
        limit = written.limit
        if not written.is_explicit:
            self.bare += self.sign is None
            limit = _compared(limit, self.sign)
        return criterion if _is_same(self.criteria.get(criterion), limit) else limit

    def retest(self, unit: Unit | None, limit: Limit | None) -> Limit | str | None:
        """The limit after rework; a bare figure is compared as ``limit``, the one before, is."""
        text, own = split_criterion(self.get("retest"))[0], self.sign
        if limit is not None and limit.judges and self._is_bare(text):
            if limit.maximum is not None and limit.minimum is not None:
                what = f"{quoted(text)} has one end, and the limit of this line has two"
                self.find("retest", what, "write both ends, such as 1 to 10 kohm, or a comparator")
                return None
            self.like_limit = own is None
            self.sign = own or (limit.upper if limit.maximum is not None else limit.lower)
        found = self.written("retest", unit)
        self.sign = own
        return found

    def _is_bare(self, text: str) -> bool:
        """Whether a limit is a figure without a comparator."""
        try:
            return not parse_written_limit(text, Unit.OHM, decimal_comma=self.signs.comma).is_explicit
        except NotAResistanceError:
            return False

    def comparator(self) -> Comparator | None:
        """What the column for comparators says, kept in ``sign``; None where it is none, and then noted."""
        if text := self.get("cmp"):
            try:
                self.sign = parse_written_comparator(text)
            except NotAResistanceError as error:
                self.find("cmp", str(error), "write <, <=, > or >=")
        return self.sign

    def hold(self, limit: Limit) -> None:
        """Note a comparator column that says otherwise than the limit beside it."""
        if self.sign is None or not limit.judges:
            return
        said = limit.upper if limit.maximum is not None else limit.lower
        if said is self.sign:
            return
        here = said.value
        if (said in _UPPER) != (self.sign in _UPPER):
            here = "an upper limit" if said in _UPPER else "a lower limit"
        what = f"{here} here, and {self.sign.value} in the column for comparators"
        name = next(name for name in ("limit", "max", "min", "criterion") if name in self.cells)
        self.find(name, what, "empty one of the two cells, or write the same in both")

    def bounds(self, unit: Unit | None) -> Limit | str | None:
        """The limit that the columns max, min and cmp state, or the id of the criterion.

        A cell of max or min may state a limit of its own, such as ``< 2.5``, ``1 to 10`` or ``record only``.
        """
        names = [name for name in ("max", "min") if name in self.cells]
        bare = self.bare
        found = [self._bound(name, unit) for name in names]
        self.bare = min(self.bare, bare + 1)  # of both, one limit
        stated = [bound for bound in found if bound is not None]
        return self._window(*stated) if len(stated) == 2 else next(iter(stated), None)

    def _window(self, high: Limit | str, low: Limit | str) -> Limit | str | None:
        """What the cells of max and min state together."""
        if high == low:
            return high
        is_whole = any(isinstance(each, str) or not each.judges for each in (high, low))
        if isinstance(high, str) or isinstance(low, str) or is_whole or high.minimum or low.maximum:
            self.find("max", "max and min say different things", "empty one of the two cells")
            return None
        if (high.upper is Comparator.LESS) != (low.lower is Comparator.MORE):
            what = "a window has both its ends with equality, or both without"
            lower = Comparator.MORE if high.upper is Comparator.LESS else Comparator.AT_LEAST
            self.find("min", what, f"write {lower.value} where max has {high.upper.value}")
            return None
        return Limit(high.maximum, low.minimum, high.upper, low.lower)

    def _bound(self, name: str, unit: Unit | None) -> Limit | str | None:
        """What a cell of max or min states; a bare figure has the comparator of the row."""
        text = self.cells[name]
        if text in self.criteria:
            return text
        written = self._limit_in(name, text, unit)
        if written is None:
            return None
        limit = written.limit
        if not written.is_explicit:
            self.bare += self.sign is None
            is_strict = self.sign in _STRICT
            if name == "max":
                return replace(limit, upper=Comparator.LESS if is_strict else Comparator.AT_MOST)
            lower = Comparator.MORE if is_strict else Comparator.AT_LEAST
            return Limit(minimum=limit.maximum, lower=lower)
        if limit.judges and (limit.maximum if name == "max" else limit.minimum) is None:
            here, other = ("upper", "a lower") if name == "max" else ("lower", "an upper")
            remedy = f'where the column holds limits of both kinds: --map "limit={self.columns[name].column}"'
            self.find(name, f"{quoted(text)} is {other} limit in a column of {here} ones", remedy)
            return None
        return limit

    def _limit_in(self, name: str, text: str, unit: Unit | None) -> WrittenLimit | None:
        """The limit in a cell as people write it; None with the reason noted."""
        parse = partial(parse_written_limit, decimal_comma=self.signs.comma)
        return self._understood(name, text, unit, parse, "<= 2.5 mohm, or record only")

    def figure(self, name: str, unit: Unit | None) -> Resistance | None:
        """A cell with one figure; a bare one is in the column's unit, or in ``unit``."""
        text = self.get(name)
        parse = partial(parse_figure, decimal_comma=self.signs.comma)
        return self._understood(name, text, unit, parse, "2.5 mohm") if text else None

    def _understood(
        self, name: str, text: str, unit: Unit | None, parse: Callable[[str, Unit | None], T], like: str
    ) -> T | None:
        """What ``parse`` makes of a cell; None with the reason noted, ``like`` being how to write it."""
        if self._is_doubtful(name, text):
            return None
        of_column = self.columns[name].unit
        try:
            found = parse(text, of_column or unit)
        except NoUnitError as error:
            self.find(name, str(error), self._wanted_unit())
            return None
        except NotAResistanceError as error:
            self.find(name, str(error), f"write it like {like}")
            return None
        if of_column is not None and self.own is not None and of_column is not self.own:
            if _has_no_unit(text, parse):
                what = (
                    f"{quoted(text)} is in {of_column.value} by its column, in {self.own.value} by its line"
                )
                self.find(name, what, "write the figure with its unit, or empty the cell of the unit")
                return None
        elif of_column is None and self.own is None and self.is_guessed:
            self.unitless = self.unitless or _has_no_unit(text, parse)
        return found

    def _wanted_unit(self) -> str:
        """What to do about a figure without a unit."""
        if self.beside is not None:
            return f"write its unit: the limit of this line is in {self.beside.value}"
        if self.mixed:
            return f"write its unit, the list has {self.mixed}; or give --unit for all figures without one"
        return "write it like <= 2.5 mohm, with its unit; or give --unit"

    def _is_doubtful(self, name: str, text: str) -> bool:
        """Whether a point or comma in a cell may part thousands as well as decimals, and then noted."""
        doubt = self.signs.doubt(text)
        if doubt is not None:
            self.find(name, *doubt)
        return doubt is not None

    def number(self, name: str, *, signed: bool = False) -> Decimal | None:
        """A cell with a plain number."""
        text = self.get(name)
        if self._is_doubtful(name, text):
            return None
        plain = self.signs.plain(text)
        is_negative = signed and plain.startswith("-")
        try:
            number = parse_number(plain.removeprefix("-") if signed else plain)
        except NotAResistanceError:
            self.find(name, f"{quoted(text)} is not a number", "write digits, with a point for decimals")
            return None
        return -number if is_negative else number

    def find(self, name: str, what: str, remedy: str) -> None:
        """Note a problem of one cell, under the name of its column."""
        each = self.columns.get(name)
        column = each.column if each is not None else name
        self.problems.append(Problem(what, remedy, self.file, self.line, column))


def limit_in(row: Row, bare: Unit | None) -> Limit | str | None:
    """The limit, or the id of the criterion; None where the row states none. Bare figures are in ``bare``."""
    if row.comparator() is None and row.get("cmp"):
        return None  # told
    limits = [row.written("limit", bare), row.bounds(bare)]
    stated = [limit for limit in limits if limit is not None]
    if len(stated) == 2 and stated[0] != stated[1]:
        row.find("limit", "limit and max or min say different things", "map one of them only")
    if stated and "criterion" in row.cells:
        row.find("limit", "a limit beside a criterion", "empty one of the two cells, or map one only")
    limit = stated[0] if stated else None
    figures = figures_of(row, limit)
    if figures is not None:
        row.hold(figures)
    if row.sign is not None and not row.cells.keys() & {"limit", "max", "min", "criterion"}:
        row.find("cmp", "a comparator without a figure", "write the figure, or empty this cell")
    return limit


def figures_of(row: Row, limit: Limit | str | None) -> Limit | None:
    """What judges the point: the limit, or that of the criterion it or its row names."""
    by = limit or row.get("criterion")
    return row.criteria.get(by) if isinstance(by, str) else by


def unit_of(row: Row, limit: Limit | str | None) -> Unit | None:
    """The unit of the figures that judge the point, None where there are none."""
    found = figures_of(row, limit)
    bound = None if found is None else found.maximum or found.minimum
    return None if bound is None else bound.unit


def retest_of(row: Row, bare: Unit | None, unit: Unit | None, limit: Limit | str | None) -> dict[str, Any]:
    """The limit after rework, of a point read in ``unit`` against ``limit``; bare figures are in ``bare``."""
    retest = row.retest(bare, figures_of(row, limit))
    return {} if retest is None else limit_table("retest", retest, unit)


def expected_of(row: Row, bare: Unit | None, unit: Unit | None) -> dict[str, Any]:
    """The expected band, in ``unit`` as a route file wants it; bare figures are in ``bare``."""
    band = row.written("expected", bare)
    low, high = row.figure("expected_low", bare), row.figure("expected_high", bare)
    if isinstance(band, Limit):
        low, high = band.minimum, band.maximum
    if low is None and high is None:
        return {}
    if low is None or high is None:
        row.find("expected", "the expected band has one end only", "write it like 0.8 to 1.6")
        return {}
    spelled = unit or high.unit
    return {"expected": {"low": low.to(spelled).value, "high": high.to(spelled).value}}


def conductor_of(row: Row) -> dict[str, Any]:
    """The conductor between A and B."""
    table: dict[str, Any] = {}
    if "awg" in row.cells:
        table["awg"] = row.cells["awg"].upper().removeprefix("AWG").strip()
    for name in ("mm2", "length_mm"):
        if name in row.cells and (number := row.number(name)) is not None:
            table[name] = number
    if table and "metal" in row.cells:
        table["metal"] = row.cells["metal"]
    return {"conductor": table} if table else {}


def rest_of(row: Row) -> dict[str, Any]:
    """How it is read and where it is, apart from what is copied as it stands."""
    table: dict[str, Any] = {}
    if "repeats" in row.cells and (number := row.number("repeats")) is not None:
        table["repeats"] = int(number) if number == int(number) else number
    if "current_ma" in row.cells and (number := row.number("current_ma")) is not None:
        table["current_ma"] = number
    if "guard" in row.cells and (number := row.number("guard")) is not None:
        table["guard"] = number
    if "correct_to_20" in row.cells:
        answer = _YES.get(row.cells["correct_to_20"].casefold())
        if answer is None:
            row.find("correct_to_20", "neither yes nor no", "write yes or no")
        else:
            table["correct_to_20"] = answer
    place = [row.number(axis, signed=True) for axis in "xyz" if axis in row.cells]
    if place and len(place) < 3:
        row.find("x", "a place wants x, y and z", "fill all three cells, or none")
    elif place and None not in place:
        table["at"] = place
    return table


def limit_table(name: str, limit: Limit | str, unit: Unit | None) -> dict[str, Any]:
    """The limit as a route file states it at a point read in ``unit``."""
    if isinstance(limit, str):
        return {"criterion": limit} if name == "limit" else {name: {"criterion": limit}}
    if not limit.judges:
        return {name: {"record_only": True}}
    high, low = limit.maximum, limit.minimum
    spelled = (high or low or Resistance(Decimal(0), Unit.OHM)).unit
    table: dict[str, Any] = {}
    if low is not None:
        table["min"] = low.to(spelled).value
    if high is not None:
        table["max"] = high.value
    table["cmp"] = (limit.upper if high is not None else limit.lower).value
    if spelled is not unit:
        table["unit"] = spelled.value
    return {name: table}


def _compared(limit: Limit, sign: Comparator | None) -> Limit:
    """A limit read from a bare figure, with the comparator that stands elsewhere in its row."""
    if sign is None or limit.maximum is None or limit.minimum is not None:
        return limit
    if sign in _UPPER:
        return replace(limit, upper=sign)
    return Limit(minimum=limit.maximum, lower=sign)


def _has_no_unit(text: str, parse: Callable[[str, Unit | None], object]) -> bool:
    """Whether a cell that can be understood has a figure without a unit of its own."""
    try:
        parse(text, None)
    except NoUnitError:
        return True
    return False


def _is_same(criterion: Limit | None, limit: Limit) -> bool:
    """Whether a criterion states these very figures."""
    if criterion is None:
        return False
    return (
        _ohms(criterion.maximum) == _ohms(limit.maximum)
        and _ohms(criterion.minimum) == _ohms(limit.minimum)
        and (limit.maximum is None or criterion.upper is limit.upper)
        and (limit.minimum is None or criterion.lower is limit.lower)
    )


def _ohms(bound: Resistance | None) -> Decimal | None:
    return None if bound is None else bound.ohms
