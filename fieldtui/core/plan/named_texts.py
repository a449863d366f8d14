"""Texts by name as one line of JSON (RFC 8259): how the trail's note column carries a definition."""

from __future__ import annotations

import json
from collections.abc import Mapping

from fieldtui.core.text import refusal


class NotNamedTextsError(ValueError):
    """The line does not hold texts by name; the message says why."""


def format_texts(fields: Mapping[str, str]) -> str:
    """The fields as one line, readable by eye; empty ones go without saying."""
    return json.dumps({name: text for name, text in fields.items() if text}, ensure_ascii=False)


def parse_texts(line: str) -> dict[str, str]:
    """The fields of a line.

    Raises:
        NotNamedTextsError: with the reason in words.
    """
    try:
        fields = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise NotNamedTextsError("the definition is not one line of JSON") from error
    if not isinstance(fields, dict) or not all(isinstance(value, str) for value in fields.values()):
        raise NotNamedTextsError("the definition must be texts by name")
    if why := next(filter(None, map(refusal, fields.values())), None):
        raise NotNamedTextsError(why)  # JSON can spell a control character in plain letters
    return fields
