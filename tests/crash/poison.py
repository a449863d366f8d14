"""Every text of a value replaced by a hostile one, past every check that would refuse it.

What readers and keyboards let through is tested elsewhere; here the last door is: whatever text a
screen or a report is handed, nothing in it may act.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from enum import Enum
from types import MappingProxyType
from typing import Any

# Between the markers stands what would act; the marker itself must be seen on the screen.
MARK = "EVIL"
CONTROLS = (
    "\x1b]0;EVIL\x07\x9b5n\u202e\x1b[31m\u200b\r\x00\x1bP\x9d0;x\x9c\x7f\u2028\x1b]8;;x\x07\x1b]52;c;eA==\x1b\\\x08EVIL"
    + "e"
    + "\u0301" * 7
)
MARKUP = (
    '[P-014][/b][/][@click=app.quit]EVIL[/]$name\\[x][[x]][link=x]<evil a="b">&#60;</td><script>EVIL</script>'
    "](javascript:EVIL)|`\\"
)
FORMULA = '=HYPERLINK("http://x.invalid","EVIL")'
FORMULAS = (FORMULA, "+1+EVIL", "-1+EVIL", "@SUM(EVIL)", "\t=EVIL", "＝EVIL", "'=EVIL", 'x","=EVIL')

# Texts that are words of the program's own, not anybody's.
_OWN = frozenset({"rule", "method", "metal", "first_link", "definition", "awg", "kind"})


def poisoned(value: Any, payload: str) -> Any:
    """``value`` with ``payload`` before each of its texts; keys of tables are left as they are."""
    if isinstance(value, str):
        return payload + value
    if isinstance(value, Enum) or value is None:
        return value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        changes = {
            field.name: poisoned(getattr(value, field.name), payload)
            for field in dataclasses.fields(value)
            if field.init and field.name not in _OWN
        }
        return dataclasses.replace(value, **changes)
    if isinstance(value, list | tuple):
        return type(value)(poisoned(each, payload) for each in value)
    if isinstance(value, Mapping):
        return MappingProxyType({key: poisoned(each, payload) for key, each in value.items()})
    return value
