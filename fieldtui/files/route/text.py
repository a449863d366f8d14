"""A route's tables written as TOML the way a planner would: one line a key, limits in one line.

Values are quoted by the TOML library; only where each stands is decided here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

import tomli_w

_GROUPS = ("sections", "points", "paths")


def format_route_file(document: Mapping[str, Any], remarks: Iterable[str] = ()) -> bytes:
    """The bytes of a route file.

    Args:
        document: its tables, as a route file holds them.
        remarks: lines of comment at its top, free of control characters.
    """
    lines = [f"# {remark}".rstrip() for remark in remarks]
    lines += [_line(key, value) for key, value in document.items() if key not in (*_GROUPS, "defaults")]
    if document.get("defaults"):
        lines += ["", "[defaults]", *(_line(key, value) for key, value in document["defaults"].items())]
    for group in _GROUPS:
        for table in document.get(group, ()):
            lines += ["", f"[[{group}]]", *(_line(key, value) for key, value in table.items())]
    return ("\n".join(lines) + "\n").encode()


def _line(key: str, value: object) -> str:
    return f"{key} = {_value(value)}"


def _value(value: object) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(_line(key, inner) for key, inner in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, Decimal):
        return format(value, "f")
    return tomli_w.dumps({"v": value}).removeprefix("v = ").rstrip("\n")
