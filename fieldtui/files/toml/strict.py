"""A table of a file as a class: its annotations say what each key may hold; reading finds all that is wrong.

Known here is what the files have: single values, each with a check of its own (``fields``), tables, lists,
and tables by name. pydantic reads the same classes: it makes their JSON Schema (``schemas``), and a test
holds this reader to its answers. It is not what reads: with its models it takes 10 MiB, as much as the whole
rest of a walk adds to the toolkit, and a walk would wait for it to load.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import FrozenInstanceError, dataclass
from functools import partial
from types import NoneType, UnionType
from typing import (
    Annotated,
    Any,
    ClassVar,
    TypeVar,
    Union,
    dataclass_transform,
    get_args,
    get_origin,
    get_type_hints,
)

from fieldtui.core.text import visible
from fieldtui.files.toml.fields import MAX_ID, Check, Fault, Found, RefusedError, fault, shown

Reader = Callable[[object], object]


@dataclass_transform(kw_only_default=True, frozen_default=True)
class Strict:
    """A table: no unknown keys, no silent conversions. What a file does not give is the class's attribute."""

    # keys that may be expected here and cannot be, with what to do instead
    elsewhere: ClassVar[Mapping[str, str]] = {}

    def __init__(self, **given: object) -> None:
        vars(self).update(given)

    def __setattr__(self, key: str, value: object) -> None:
        raise FrozenInstanceError(key)


M = TypeVar("M", bound=Strict)


def keys_of(model: type[Strict]) -> tuple[str, ...]:
    """The keys that a table may have, in the order in which they are declared."""
    return tuple(_form_of(model).readers)


def given_in(table: Strict) -> frozenset[str]:
    """The keys that the file gave."""
    return frozenset(vars(table))


def with_given(table: M, values: Mapping[str, object]) -> M:
    """The table as if the file had given these as well."""
    return type(table)(**{**vars(table), **values})


def read(model: type[M], value: object) -> M:
    """``value``, as the parser gives it, as a table.

    Raises:
        RefusedError: with everything that cannot be accepted.
    """
    if not isinstance(value, dict):
        raise fault(f"{shown(value)} stands where a table is wanted", "write key = value")
    form = _form_of(model)
    given: dict[str, object] = {}
    found: Found = []
    for key, inner in value.items():
        reader = form.readers.get(key)
        if reader is None:
            found.append(((key,), _unknown(key, model)))
            continue
        try:
            given[key] = reader(inner)
        except RefusedError as refused:
            found += refused.below(key)
    found += (((key,), Fault(f"{key} is missing", "add it")) for key in form.needed if key not in value)
    if found:
        raise RefusedError(found)
    return model(**given)


def _unknown(key: str, model: type[Strict]) -> Fault:
    cut = key if len(key) <= MAX_ID else key[:MAX_ID] + "…"
    return Fault(f'unknown key "{visible(cut)}"', model.elsewhere.get(key, ""), in_table=model)


def hints_of(model: type[Strict]) -> Mapping[str, Any]:
    """The annotation of each key."""
    hints = get_type_hints(model, include_extras=True)
    return {key: hint for key, hint in hints.items() if get_origin(hint) is not ClassVar}


@dataclass(frozen=True, slots=True)
class _Form:
    """What a class of tables says: how each key is read, and those that must be given."""

    readers: Mapping[str, Reader]
    needed: tuple[str, ...]


_FORMS: dict[type[Strict], _Form] = {}


def _form_of(model: type[Strict]) -> _Form:
    """Made when a first table of the class is read."""
    form = _FORMS.get(model)
    if form is None:
        readers = {key: _reader(hint) for key, hint in hints_of(model).items()}
        form = _FORMS[model] = _Form(readers, tuple(key for key in readers if not hasattr(model, key)))
    return form


def _reader(hint: Any) -> Reader:
    inner = get_args(hint)
    match get_origin(hint):
        case None if isinstance(hint, type) and issubclass(hint, Strict):
            return partial(read, hint)
        case origin if origin is Annotated:
            (check,) = (each for each in hint.__metadata__ if isinstance(each, Check))
            return check.read
        case origin if origin in (Union, UnionType):  # with None, for what is not given
            (one,) = (each for each in inner if each is not NoneType)
            return _reader(one)
        case origin if origin is tuple:
            return partial(_read_list, _reader(inner[0]))
        case origin if origin in (dict, Mapping):
            return partial(_read_named, _reader(inner[0]), _reader(inner[1]))
        case _:
            raise TypeError(f"no way to read {hint}")


def _read_list(reader: Reader, value: object) -> tuple[object, ...]:
    if not isinstance(value, list):
        raise fault(f"{shown(value)} stands where a list is wanted", "write it as [ … ]")
    items: list[object] = []
    found: Found = []
    for index, inner in enumerate(value):
        try:
            items.append(reader(inner))
        except RefusedError as refused:
            found += refused.below(index)
    if found:
        raise RefusedError(found)
    return tuple(items)


def _read_named(name: Reader, reader: Reader, value: object) -> dict[object, object]:
    if not isinstance(value, dict):
        raise fault(f"{shown(value)} stands where a table is wanted", "write key = value")
    items: dict[object, object] = {}
    found: Found = []
    for key, inner in value.items():
        for each, what in ((name, key), (reader, inner)):
            try:
                items[key] = each(what)
            except RefusedError as refused:
                found += refused.below(key)
    if found:
        raise RefusedError(found)
    return items
