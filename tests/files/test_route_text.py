"""A route written as TOML reads back as the same tables, and looks like a planner's."""

from __future__ import annotations

import tomllib
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from fieldtui.files.route.text import format_route_file
from fieldtui.files.toml.text import parse_toml
from tests.strategies import clean_texts

VALUES = (
    clean_texts
    | st.booleans()
    | st.integers(0, 10**6)
    | st.decimals("0", "999", places=3)
    | st.lists(st.decimals("-99", "99", places=1), min_size=3, max_size=3)
)
TABLES = st.dictionaries(st.from_regex("[a-z_]{1,8}", fullmatch=True), VALUES, max_size=4)
DOCUMENTS = st.fixed_dictionaries(
    {
        "format": st.just(1),
        "title": clean_texts,
        "defaults": TABLES,
        "sections": st.lists(TABLES, max_size=2),
    },
    optional={"points": st.lists(st.fixed_dictionaries({"id": clean_texts, "limit": TABLES}), max_size=3)},
)


@given(DOCUMENTS, st.lists(clean_texts, max_size=2))
def test_what_is_written_is_read_again(document: dict[str, object], remarks: list[str]) -> None:
    read = parse_toml(format_route_file(document, remarks), "route.toml").data
    assert read == {key: value for key, value in document.items() if value != [] and value != {}}


def test_it_looks_like_a_planner_s() -> None:
    document = {
        "format": 1,
        "title": 'The "left" wing',
        "defaults": {"b": "stud"},
        "points": [
            {"id": "SW-1", "limit": {"max": Decimal("2.50"), "cmp": "<"}, "at": [Decimal("1E+1"), 2, 3]}
        ],
    }
    text = format_route_file(document, ["Imported from points.csv:", "  id from No"]).decode()
    assert text == (
        "# Imported from points.csv:\n#   id from No\nformat = 1\n"
        'title = "The \\"left\\" wing"\n\n[defaults]\nb = "stud"\n\n'
        '[[points]]\nid = "SW-1"\nlimit = { max = 2.50, cmp = "<" }\nat = [10, 2, 3]\n'
    )
    assert tomllib.loads(text)["points"][0]["limit"]["cmp"] == "<"
