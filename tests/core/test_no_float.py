"""No float touches a reading's digits: where readings are kept, judged and written, the source has none.

Probabilities, statistics and what only raises a question are floats; they live in modules of their own.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "fieldtui"
ROOMS = (
    *("core/measurement", "core/verdict", "core/survey", "core/account", "core/plan", "core/trail"),
    *("files/trail", "files/toml", "files/session", "files/tables"),
)
ALONE = (
    *("report/results_csv.py", "files/memory_list.py", "files/sheet.py"),
    *("desk/readings.py", "desk/entry.py", "desk/reconciling.py"),
)
# Makes floats of Decimals, and no Decimal of a float.
PROBABILITIES = PACKAGE / "core/measurement/decision.py"
FILES = [path for room in ROOMS for path in sorted((PACKAGE / room).rglob("*.py"))]
FILES = [path for path in [*FILES, *(PACKAGE / each for each in ALONE)] if path != PROBABILITIES]


def floats(source: str) -> Iterator[str]:
    """Where a module makes a float, in words; how near a misspelt name must be does not count."""
    tree = ast.parse(source)
    nearness = {
        id(node.value) for node in ast.walk(tree) if isinstance(node, ast.keyword) and node.arg == "cutoff"
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "float":
            yield f"line {node.lineno}: float()"
        elif isinstance(node, ast.Constant) and isinstance(node.value, float) and id(node) not in nearness:
            yield f"line {node.lineno}: {node.value}"
        elif isinstance(node, ast.Attribute) and node.attr == "from_float":
            yield f"line {node.lineno}: from_float"
        elif isinstance(node, ast.Import | ast.ImportFrom):
            names = [getattr(node, "module", None), *(alias.name for alias in node.names)]
            yield from (f"line {node.lineno}: {name}" for name in names if name in ("math", "statistics"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_there_is_no_float_where_readings_are(path: Path) -> None:
    assert list(floats(path.read_text(encoding="utf-8"))) == []


def test_floats_are_found() -> None:
    made = "import math\nfrom statistics import mean\na = 0.1\nb = float(a)\nc = Decimal.from_float(b)\n"
    assert [each.partition(":")[0] for each in floats(made)] == [f"line {line}" for line in range(1, 6)]
    assert list(floats("a = Decimal(2).sqrt()\nb = get_close_matches(a, c, cutoff=0.6)\n")) == []


def test_no_probability_becomes_a_digit() -> None:
    calls = ast.walk(ast.parse(PROBABILITIES.read_text(encoding="utf-8")))
    called = [ast.unparse(node) for node in calls if isinstance(node, ast.Call)]
    assert [each for each in called if each.startswith("Decimal")] == ["Decimal(1)", "Decimal(0)"]
