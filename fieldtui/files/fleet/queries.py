"""The published queries, by name."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

# In the order in which they are run.
QUERIES = (
    "tables",
    "load_trail",
    "load_results",
    "chain",
    "states",
    "not_followed",
    "settled",
    "settled_results",
    "points",
)


@cache
def query(name: str) -> str:
    """The text of one query, without a semicolon at its end."""
    return files(__package__).joinpath(f"{name}.sql").read_text(encoding="utf-8")


def all_queries() -> str:
    """Every query under its file's name, to be read or run elsewhere."""
    return (
        "\n\n".join(f"-- {name}.sql\n\n{query(name).rstrip().removesuffix(';')};" for name in QUERIES) + "\n"
    )
