"""What one field of a file may hold: text, ids, numbers, choices. Every refusal in plain words."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any, Literal

from fieldtui.core import text
from fieldtui.core.measurement.decision import RuleKind
from fieldtui.core.measurement.ohms import MAX_DIGITS, Unit
from fieldtui.core.plan.route import METHOD_READINGS, Comparator, CriterionStatus, Method
from fieldtui.files.toml.scan import Path

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema

MAX_ID = 40
MAX_TITLE = 120
MAX_FOLDER_NAME = 120

_ID = re.compile(r"[A-Za-z0-9._-]+")
_NOT_ID = re.compile(r"[^A-Za-z0-9._-]")
_LINK = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one value, and what to do.

    ``in_table`` is the class of the table that does not know a key: which known one it resembles is only
    looked for where it is told, since that is slow.
    """

    what: str
    remedy: str = ""
    in_table: type[Any] | None = None


Found = list[tuple[Path, Fault]]


class RefusedError(ValueError):
    """All that is wrong with a value, each with its place in it."""

    def __init__(self, found: Sequence[tuple[Path, Fault]]) -> None:
        super().__init__("; ".join(each.what for _, each in found[:1]))
        self.found = found

    def below(self, part: str | int) -> Found:
        """The same, seen from the table or list in which the value stands at ``part``."""
        return [((part, *path), each) for path, each in self.found]


def fault(what: str, remedy: str = "") -> RefusedError:
    """The refusal of a single value: what is wrong, and what to do."""
    return RefusedError([((), Fault(what, remedy))])


@dataclass(frozen=True, slots=True)
class Check:
    """The annotation of a single value: how it is read, and the type that a JSON Schema tells."""

    read: Callable[[object], object]
    told_as: Any

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        """How pydantic is told of the check, where a JSON Schema is made."""
        from pydantic import PlainValidator

        validator = PlainValidator(self.read, json_schema_input_type=self.told_as)
        return validator.__get_pydantic_core_schema__(source, handler)


def shown(value: object) -> str:
    """A refused value as it may be shown: cut short, doubtful characters made visible."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            cut = value if len(value) <= MAX_ID else value[:MAX_ID] + "…"
            return f'"{text.visible(cut)}"'
        case int() | Decimal():
            return str(value)
        case dict():
            return "a table"
        case list():
            return "a list"
        case date():
            return "a date"
        case _:
            return "this"


def nearest(word: str, known: Iterable[str]) -> str:
    """What to do about an unknown word: the nearest known one, or all of a short list."""
    names = sorted(known)[:1000]
    close = difflib.get_close_matches(word[:MAX_TITLE], names, n=1, cutoff=0.6)
    if close:
        return f'did you mean "{text.visible(close[0])}"?'
    if len(names) > 12:
        return "correct it or take it out"
    return "known here: " + ", ".join(text.visible(name) for name in names) if names else ""


def is_id(value: str) -> bool:
    """Whether ``value`` is 1 to 40 of letters, digits, ``-``, ``_`` and ``.``."""
    return len(value) <= MAX_ID and _ID.fullmatch(value) is not None


def id_refusal(value: str) -> str | None:
    """Why ``value`` is no id, or None where it is one."""
    if is_id(value):
        return None
    if not value:
        return "it is empty"
    found = _NOT_ID.search(value)
    if found is None:
        return f"it has {len(value)} characters; at most {MAX_ID} are allowed"
    return "it has a space" if found.group() == " " else f"it has the character {shown(found.group())}"


# --- text ---------------------------------------------------------------------------------


def _text(value: object, longest: int = text.MAX_LENGTH) -> str:
    if not isinstance(value, str):
        raise fault(f"{shown(value)} is not text", 'put it in quotes, such as "rear spar"')
    if "\n" in value:
        raise fault("a line break inside the text", "write it on one line")
    refused = text.refusal(value, max_length=longest)
    if refused is not None:
        raise fault(refused, "take it out" if longest >= len(value) else "shorten the text")
    return text.normal(value)


def _title(value: object) -> str:
    title = _text(value, MAX_TITLE)
    if not title:
        raise fault("the text is empty", "write what a person would call it")
    return title


def _id(value: object) -> str:
    if not isinstance(value, str):
        raise fault(f"{shown(value)} is not text", 'put it in quotes, such as "SW-07"')
    refused = id_refusal(value)
    if refused is not None:
        raise fault(
            f"{shown(value)} cannot be an id: {refused}", f"use 1 to {MAX_ID} letters, digits, - _ and ."
        )
    return value


def _folder_name(value: object) -> str:
    name = _text(value, MAX_FOLDER_NAME)
    if _ID.fullmatch(name) is None:
        raise fault(f"{shown(name)} cannot be a session's name", "use letters, digits, - _ and .")
    return name


def _link(value: object) -> str:
    if not isinstance(value, str) or _LINK.fullmatch(value) is None:
        raise fault("the first link is not 32 hexadecimal digits", "the file was edited or damaged")
    return value


# --- numbers ------------------------------------------------------------------------------


def _decimal(value: object) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        raise fault(f"{shown(value)} is not a number", "write it without quotes or unit, such as 2.5")
    number = Decimal(value)
    exponent = number.as_tuple().exponent
    if not isinstance(exponent, int):
        raise fault("this is not a plain number", "write it in full, such as 2.5")
    if exponent > 0:
        raise fault("a number with an exponent", "write it in full, such as 2500")
    if -exponent > MAX_DIGITS or (number and number.adjusted() >= MAX_DIGITS):
        raise fault(f"more than {MAX_DIGITS} digits on one side of the point", "use a larger or smaller unit")
    return number


def _quantity(value: object) -> Decimal:
    number = _decimal(value)
    if number.is_signed():
        raise fault(f"{shown(number)} is negative", "a resistance or a length has no sign")
    return number


def _positive(value: object) -> Decimal:
    number = _quantity(value)
    if not number:
        raise fault("zero cannot be meant here", "write the figure itself")
    return number


def whole(low: int, high: int) -> Callable[[object], int]:
    """The check of a whole number from ``low`` to ``high``."""

    def check(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise fault(
                f"{shown(value)} is not a whole number from {low} to {high}",
                "write one of these, without quotes",
            )
        return value

    return check


def _format(value: object) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or value != 1:
        raise fault(f"format {shown(value)} is not known; this program reads format 1", "write format = 1")
    return 1


def _gauge(value: object) -> str:
    if isinstance(value, int) and not isinstance(value, bool):
        value = str(value)
    if isinstance(value, str):
        match = re.fullmatch(r"(?:[1-4]/0|0|[1-9][0-9]?)", value)
        if match is not None and ("/" in value or int(value) <= 40):
            return value
    raise fault(f"{shown(value)} is not an AWG size", 'write 0 to 40, or "1/0" to "4/0"')


# --- choices ------------------------------------------------------------------------------


def _choice(name: str, known: Iterable[str]) -> Callable[[object], str]:
    words = tuple(known)

    def check(value: object) -> str:
        if isinstance(value, str) and value in words:
            return value
        raise fault(f"{shown(value)} is not a known {name}", "use one of: " + ", ".join(words))

    return check


_unit_word = _choice("unit", (unit.value for unit in Unit))
_comparator_word = _choice("comparator", (one.value for one in Comparator))
_status_word = _choice("status", (one.value for one in CriterionStatus))
_decision_word = _choice("decision rule", (one.value for one in RuleKind))


def _unit(value: object) -> Unit:
    return Unit(_unit_word(value))


def _comparator(value: object) -> Comparator:
    return Comparator(_comparator_word(value))


def _status(value: object) -> CriterionStatus:
    return CriterionStatus(_status_word(value))


def _decision(value: object) -> RuleKind:
    return RuleKind(_decision_word(value))


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise fault(f"{shown(value)} is neither true nor false", "write true or false, without quotes")
    return value


def _date(value: object) -> date:
    if not isinstance(value, date) or isinstance(value, datetime):
        raise fault(f"{shown(value)} is not a date", "write it without quotes, such as 2027-03-31")
    return value


def _moment(value: object) -> datetime:
    if not isinstance(value, datetime) or value.tzinfo is None:
        raise fault(f"{shown(value)} is not a time", "write it in full, such as 2026-05-01T09:30:00Z")
    try:
        return value.astimezone(UTC)
    except OverflowError:
        remedy = "write it in UTC, such as 2026-05-01T09:30:00Z"
        raise fault(f"{shown(value)} is out of range", remedy) from None


def _place(value: object) -> tuple[Decimal, Decimal, Decimal]:
    if not isinstance(value, list) or len(value) != 3:
        raise fault("a place is not three numbers", "write x, y and z, such as [118.0, -12.0, 0.0]")
    x, y, z = (_decimal(one) for one in value)
    return x, y, z


def _table(value: object) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise fault(f"{shown(value)} stands where a table is wanted", "write key = value")
    return value


def _empty(value: object) -> tuple[()]:
    if value != []:
        raise fault("nothing can stand here", "take it out")
    return ()


Text = Annotated[str, Check(_text, str)]
Title = Annotated[str, Check(_title, str)]
Id = Annotated[str, Check(_id, str)]
FolderName = Annotated[str, Check(_folder_name, str)]
Link = Annotated[str, Check(_link, str)]
Number = Annotated[Decimal, Check(_decimal, float)]
Quantity = Annotated[Decimal, Check(_quantity, float)]
Positive = Annotated[Decimal, Check(_positive, float)]
Format = Annotated[int, Check(_format, Literal[1])]
Gauge = Annotated[str, Check(_gauge, str | int)]
UnitName = Annotated[Unit, Check(_unit, Unit)]
ComparatorSign = Annotated[Comparator, Check(_comparator, Comparator)]
StatusName = Annotated[CriterionStatus, Check(_status, CriterionStatus)]
DecisionName = Annotated[RuleKind, Check(_decision, RuleKind)]
RuleName = Annotated[
    Literal["max", "mean", "median"],
    Check(_choice("rule", ("max", "mean", "median")), Literal["max", "mean", "median"]),
]
MethodName = Annotated[Method, Check(_choice("method", METHOD_READINGS), Method)]
MetalName = Annotated[
    Literal["copper", "aluminium"],
    Check(_choice("metal", ("copper", "aluminium")), Literal["copper", "aluminium"]),
]
Flag = Annotated[bool, Check(_flag, bool)]
Day = Annotated[date, Check(_date, str)]
Moment = Annotated[datetime, Check(_moment, str)]
Place = Annotated[tuple[Decimal, Decimal, Decimal], Check(_place, list[float])]
Table = Annotated[dict[str, Any], Check(_table, dict[str, Any])]
Empty = Annotated[tuple[()], Check(_empty, list[Any])]


def whole_number(low: int, high: int) -> Check:
    """The annotation of a whole number from ``low`` to ``high``."""
    return Check(whole(low, high), int)
