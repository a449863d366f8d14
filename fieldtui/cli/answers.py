"""What a command says: text or JSON on standard output, errors on standard error, nothing wild in either."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import TextIO

from fieldtui.core.text import visible
from fieldtui.errors import FieldtuiError, Problem


def print_json(answer: object) -> None:
    import json  # a screen starts without it

    print(json.dumps(answer, indent=2))


def print_problems(problems: Iterable[Problem], stream: TextIO) -> None:
    for problem in problems:
        place = f"{problem.where}: " if problem.where else ""
        print(visible(f"{place}{problem.severity}: {problem.what}"), file=stream)
        if problem.remedy:
            print(visible(f"    {problem.remedy}"), file=stream)


def print_error(error: FieldtuiError, *, as_json: bool = False) -> None:
    if as_json:
        listed = [problem.as_json() for problem in error.problems]
        print_json(
            {
                "ok": False,
                "error": error.what,
                "where": error.where,
                "remedy": error.remedy,
                "problems": listed,
            }
        )
    print(visible(f"fieldtui: {error.what}"), file=sys.stderr)
    if error.where:
        print(visible(f"  where: {error.where}"), file=sys.stderr)
    if error.remedy:
        print(visible(f"  do: {error.remedy}"), file=sys.stderr)
    print_problems(error.further, sys.stderr)
