"""``report.html``: the whole record as one page that needs nothing else, on screen and on paper.

No script, no link to anywhere, no font or picture from outside; the page's own policy forbids them.
Every text of a session goes through one door: :func:`_shown` makes doubtful characters visible
and the templates escape what is left (CWE-79, CVE-2021-42574). The same session gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fieldtui.core.tables import Criterion
from fieldtui.core.text import visible
from fieldtui.desk.reading import ReadSession
from fieldtui.report.chart_histogram import histogram
from fieldtui.report.chart_pairs import pair_charts
from fieldtui.report.charts import route_charts
from fieldtui.report.findings import find_exceptions
from fieldtui.report.identity import describe_counts, describe_identity, describe_meter
from fieldtui.report.page_facts import (
    accuracy_words,
    budget_table,
    criteria_table,
    front_findings,
    signature_lines,
    summary_words,
)
from fieldtui.report.page_points import path_table, point_tables, reading_tables
from fieldtui.report.page_trail import trail_tables
from fieldtui.report.text_summary import DEFERENCE


def format_html(session: ReadSession, criteria: Mapping[str, Criterion]) -> str:
    """The report as one HTML document.

    Args:
        session: what is reported.
        criteria: the session's own, by id; they add titles and clauses to its limits.
    """
    survey = session.survey
    findings = find_exceptions(session)
    accuracy = survey.instrument.accuracy
    return _environment().get_template("report.html").render(
        session=session,
        facts=session.facts,
        deference=DEFERENCE,
        identity=describe_identity(session),
        meter=describe_meter(session),
        counts=describe_counts(survey),
        front=front_findings(findings),
        signatures=signature_lines(survey),
        summary=summary_words(survey, findings),
        criteria=criteria_table(survey, criteria),
        findings=findings,
        charts=route_charts(survey),
        histogram=histogram(survey),
        pairs=pair_charts(survey),
        points=point_tables(survey),
        paths=path_table(survey),
        readings=reading_tables(survey),
        accuracy=accuracy_words(accuracy) if accuracy is not None else "",
        budget=budget_table(survey),
        trail=trail_tables(session.events),
    )  # fmt: skip


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
