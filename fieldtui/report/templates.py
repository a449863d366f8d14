"""How pages are made from templates: everything a file or a person wrote is escaped, and made visible.

Every text goes through one door: :func:`_shown` makes doubtful characters visible and the templates
escape what is left (CWE-79, CVE-2021-42574).
"""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fieldtui.core.text import visible


def render_page(template: str, **values: object) -> str:
    """The template of that name, in ``report/page``, filled in."""
    return _environment().get_template(template).render(**values)


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("fieldtui.report", "page"),
        autoescape=True,
        finalize=_shown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["css_text"] = _css_text
    return environment


def _shown(value: object) -> object:
    """Every text that is not the template's own, its control and override characters made visible."""
    match value:
        case Markup():
            return value
        case str():
            return visible(value)
        case float():  # a place on a chart; no reading is one
            return format(round(value, 1), "g")
        case _:
            return value


def _css_text(text: str) -> Markup:
    """A quoted string of a style sheet in which nothing but letters and digits stands as itself.

    Source: CSS Syntax Module Level 3, 4.3.7: a backslash, the code point in hex, a blank.
    """
    codes = (
        character if character.isascii() and character.isalnum() else f"\\{ord(character):x} "
        for character in visible(text)
    )
    return Markup('"' + "".join(codes) + '"')  # noqa: S704  letters, digits, and codes of the rest
