"""What one field of a file may hold: text, ids, numbers, choices. Every refusal in plain words."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import PlainValidator
from pydantic_core import PydanticCustomError

from fieldtui.core import text
from fieldtui.core.measurement.decision import RuleKind
from fieldtui.core.measurement.ohms import MAX_DIGITS, Unit
from fieldtui.core.plan.route import METHOD_READINGS, Comparator, CriterionStatus, Method

FAULT = "fault"  # the error type of a refusal made here; its context holds ``what`` and ``remedy``
MAX_ID = 40
MAX_TITLE = 120
MAX_FOLDER_NAME = 120

_ID = re.compile(r"[A-Za-z0-9._-]+")
_NOT_ID = re.compile(r"[^A-Za-z0-9._-]")
_LINK = re.compile(r"[0-9a-f]{32}")


def fault(what: str, remedy: str = "") -> PydanticCustomError:
    """A refusal of one field: what is wrong, and what to do."""
    return PydanticCustomError(FAULT, "{what}", {"what": what, "remedy": remedy})


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
    return value.astimezone(UTC)


def _place(value: object) -> tuple[Decimal, Decimal, Decimal]:
    if not isinstance(value, list) or len(value) != 3:
        raise fault("a place is not three numbers", "write x, y and z, such as [118.0, -12.0, 0.0]")
    x, y, z = (_decimal(one) for one in value)
    return x, y, z


Text = Annotated[str, PlainValidator(_text, json_schema_input_type=str)]
Title = Annotated[str, PlainValidator(_title, json_schema_input_type=str)]
Id = Annotated[str, PlainValidator(_id, json_schema_input_type=str)]
FolderName = Annotated[str, PlainValidator(_folder_name, json_schema_input_type=str)]
Link = Annotated[str, PlainValidator(_link, json_schema_input_type=str)]
Number = Annotated[Decimal, PlainValidator(_decimal, json_schema_input_type=float)]
Quantity = Annotated[Decimal, PlainValidator(_quantity, json_schema_input_type=float)]
Positive = Annotated[Decimal, PlainValidator(_positive, json_schema_input_type=float)]
Format = Annotated[int, PlainValidator(_format, json_schema_input_type=Literal[1])]
Gauge = Annotated[str, PlainValidator(_gauge, json_schema_input_type=str | int)]
UnitName = Annotated[Unit, PlainValidator(_unit, json_schema_input_type=Unit)]
ComparatorSign = Annotated[Comparator, PlainValidator(_comparator, json_schema_input_type=Comparator)]
StatusName = Annotated[CriterionStatus, PlainValidator(_status, json_schema_input_type=CriterionStatus)]
DecisionName = Annotated[RuleKind, PlainValidator(_decision, json_schema_input_type=RuleKind)]
RuleName = Annotated[
    Literal["max", "mean", "median"],
    PlainValidator(
        _choice("rule", ("max", "mean", "median")), json_schema_input_type=Literal["max", "mean", "median"]
    ),
]
MethodName = Annotated[
    Method, PlainValidator(_choice("method", METHOD_READINGS), json_schema_input_type=Method)
]
MetalName = Annotated[
    Literal["copper", "aluminium"],
    PlainValidator(
        _choice("metal", ("copper", "aluminium")), json_schema_input_type=Literal["copper", "aluminium"]
    ),
]
Flag = Annotated[bool, PlainValidator(_flag, json_schema_input_type=bool)]
Day = Annotated[date, PlainValidator(_date, json_schema_input_type=str)]
Moment = Annotated[datetime, PlainValidator(_moment, json_schema_input_type=str)]
Place = Annotated[
    tuple[Decimal, Decimal, Decimal], PlainValidator(_place, json_schema_input_type=list[float])
]


def whole_number(low: int, high: int) -> PlainValidator:
    """The annotation of a whole number from ``low`` to ``high``."""
    return PlainValidator(whole(low, high), json_schema_input_type=int)
