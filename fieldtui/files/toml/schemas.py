"""JSON Schema of each TOML file, for editors that complete and check while somebody types.

Made from the very models that read the files, and cleaned for people: no nulls, which TOML has not,
no names of classes, and a word about each key. What hangs on several keys together, or on other
files, only the program's own check can say.
"""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, create_model
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from fieldtui.files.remarks import RemarksModel
from fieldtui.files.route.schema import RouteModel
from fieldtui.files.session.file import SessionModel
from fieldtui.files.tables.schema import (
    CautionsModel,
    ConductorsModel,
    CriteriaModel,
    InstrumentsModel,
    ReasonsFileModel,
)
from fieldtui.files.toml import fields
from fieldtui.files.toml.strict import Strict, hints_of

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_ID = r"^[A-Za-z0-9._-]+$"
MODELS: Mapping[str, type[Strict]] = {
    "route": RouteModel,
    "criteria": CriteriaModel,
    "instruments": InstrumentsModel,
    "reasons": ReasonsFileModel,
    "cautions": CautionsModel,
    "conductors": ConductorsModel,
    "session": SessionModel,
    "review": RemarksModel,
}

# What a key means, wherever it stands.
WORDS: Mapping[str, str] = {
    "format": "The form of this file; this program writes and reads 1.",
    "title": "What a person would call it.",
    "asset": "What is measured: aircraft, vehicle, plant.",
    "revision": "Of the plan.",
    "source": "Where the figures come from.",
    "unit": "uohm, mohm, ohm, kohm or Mohm; case matters.",
    "check_every": "Readings between two number checks; 0 for never.",
    "standard_every": "Readings between two checks of the meter on its standard; 0 for never.",
    "defaults": "Whatever a point does not say itself.",
    "sections": "Parts of the route, each with a legal stopping place at its end.",
    "points": "The measurements in walking order.",
    "paths": "Points in series whose values together have a limit of their own.",
    "id": "Letters, digits, - _ and . ; never used twice.",
    "section": "The id of the section it belongs to.",
    "where": "Zone, station, place.",
    "a": "The item: where one pair of probes touches.",
    "b": "The reference it is bonded to: where the other pair touches.",
    "limit": "What the reading is held against.",
    "retest": "The limit after rework; without cmp it is compared as the limit is.",
    "criterion": "The id of a limit in shared/criteria.toml.",
    "max": "Largest value that passes, in the unit.",
    "min": "Smallest value that passes, in the unit.",
    "cmp": "Whether the limit itself passes: < and > say no, <= and >= say yes.",
    "record_only": "The value is written down and not judged.",
    "decision": "How uncertainty counts: simple, guarded or four-state.",
    "guard": "r in the guard band r times U.",
    "expected": "The band in which a sound bond of this kind reads, in the point's unit.",
    "conductor": "What lies between a and b: length_mm, and one of awg and mm2.",
    "repeats": "Readings of one take.",
    "rule": "How the readings of one take are put together.",
    "method": "single, reversed (both ways of the current) or three-reading.",
    "current_ma": "Test current, mA: voltages with their sign are keyed, method reversed or three-reading.",
    "correct_to_20": "Judged as it would read at 20 °C.",
    "family": "Points of one kind, looked at together.",
    "condition": "How the asset must stand.",
    "prepare": "What is done to the surface before.",
    "restore": "What is done to the surface after.",
    "caution": "What could hurt here.",
    "pair": "The id of its partner on the other side, which names this one.",
    "at": "x, y and z, for the walking distance.",
    "memory_size": "Readings that one filling of the meter's memory holds; 0 for none.",
    "first_number": "The number of the first reading in an empty memory.",
    "auto_off_s": "Idle seconds until the meter switches itself off; 0 for never.",
    "settle_s": "Seconds from the probes' touch to a value that stands still; 0 where not known. "
    "A review tells readings that follow each other more quickly.",
    "calibration_due": "The last day its calibration holds.",
    "check_standard": "The reference resistor read before and after the walk.",
    "status": "How sure we are: quoted, second-hand, unverified or own.",
    "number": "Its place in this file: 1, 2, 3; nothing is taken out.",
    "time": "UTC.",
    "by": "Who remarks.",
    "point": "The id of the point it is about.",
    "record": "The number of the reading it is about.",
    "row": "The row of the trail it is about.",
    "withdraws": "The number of an earlier remark that no longer holds; the text says why.",
    "seal": "The session's seal when this was written, 32 hexadecimal digits.",
    "rows": "The rows of the trail at that time.",
}


def make_schema(name: str) -> dict[str, Any]:
    """The schema of one kind of file, by its name in :data:`MODELS`."""
    made = _cleaned(pydantic_model(MODELS[name]).model_json_schema(schema_generator=_Generator))
    definitions = made.pop("$defs", {})
    if name == "session":
        route = make_schema("route")
        definitions |= route["$defs"]
        route_keys = {"name": {"type": "string", "pattern": _ID}, **route["properties"]}
        made["properties"]["route"] |= {"properties": route_keys, "required": ["name", *route["required"]]}
    return {"$schema": _DIALECT, "title": f"fieldtui {name}", **made, "$defs": definitions}


def pydantic_model(table: type[Strict]) -> type[BaseModel]:
    """The same table, with those inside it, as a model of pydantic."""
    made = _MADE.get(table)
    if made is None:
        hints = hints_of(table).items()
        keys: dict[str, Any] = {key: (_told(hint), _default(table, key)) for key, hint in hints}
        made = _MADE[table] = create_model(table.__name__, __config__=ConfigDict(extra="forbid"), **keys)
    return made


_MADE: dict[type[Strict], type[BaseModel]] = {}


def _default(table: type[Strict], key: str) -> Any:
    """What stands for a key that is not given; that it need not be is all that is told of whole tables."""
    default = getattr(table, key, ...)  # pydantic's sign for what must be given
    return None if isinstance(default, Strict | Mapping) else default


def _told(hint: Any) -> Any:
    """An annotation with pydantic's models in the place of our tables."""
    if isinstance(hint, type) and issubclass(hint, Strict):
        return pydantic_model(hint)
    inner = get_args(hint)
    match get_origin(hint):
        case kind if kind is tuple:
            return types.GenericAlias(tuple, (_told(inner[0]), ...))
        case kind if kind in (dict, Mapping):
            return types.GenericAlias(dict, (inner[0], _told(inner[1])))
        case kind if kind in (Union, types.UnionType):
            return Union.__getitem__(tuple(map(_told, inner)))
        case _:
            return hint


def _function(field: Any) -> Callable[..., object]:
    found: Callable[..., object] = field.__metadata__[0].read
    return found


# What the field's own check asks for, as far as a schema can say it.
_ASKED: Mapping[Callable[..., object], dict[str, Any]] = {
    _function(fields.Id): {"pattern": _ID, "maxLength": fields.MAX_ID},
    _function(fields.Title): {"minLength": 1, "maxLength": fields.MAX_TITLE},
    _function(fields.Quantity): {"minimum": 0},
    _function(fields.Positive): {"exclusiveMinimum": 0},
    _function(fields.Link): {"pattern": "^[0-9a-f]{32}$"},
    _function(fields.Day): {"format": "date"},
    _function(fields.Moment): {"format": "date-time"},
    _function(fields.Place): {"minItems": 3, "maxItems": 3},
}


class _Generator(GenerateJsonSchema):
    """Adds what the checks of single fields ask for."""

    def function_plain_schema(self, schema: core_schema.PlainValidatorFunctionSchema) -> JsonSchemaValue:
        made = super().function_plain_schema(schema)
        return made | _ASKED.get(schema["function"]["function"], {})


def _cleaned(schema: dict[str, Any]) -> dict[str, Any]:
    """A schema without nulls, class names and docstrings, its keys explained."""
    kept = {key: value for key, value in schema.items() if key not in ("title", "description")}
    if not isinstance(kept.get("default"), str | int) or kept.get("type") == "number":
        kept.pop("default", None)  # a null, a whole table, or a decimal number as text
    choices = [choice for choice in kept.pop("anyOf", ()) if choice != {"type": "null"}]
    if len(choices) == 1:
        kept |= choices[0]
    elif choices:
        kept["anyOf"] = choices
    if "$ref" in kept:
        kept["$ref"] = kept["$ref"].replace("Model", "")
    for key in ("items", "additionalProperties", "propertyNames"):
        if isinstance(kept.get(key), dict):
            kept[key] = _cleaned(kept[key])
    for key in ("patternProperties", "$defs"):
        if key in kept:
            kept[key] = {name.replace("Model", ""): _cleaned(value) for name, value in kept[key].items()}
    if "properties" in kept:
        kept["properties"] = {key: _explained(key, value) for key, value in kept["properties"].items()}
    return kept


def _explained(key: str, schema: dict[str, Any]) -> dict[str, Any]:
    words = {"description": WORDS[key]} if key in WORDS else {}
    return words | _cleaned(schema)
