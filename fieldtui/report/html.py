"""``report.html``: the whole record as one page that needs nothing else, on screen and on paper.

No script, no link to anywhere, no font or picture from outside; the page's own policy forbids them.
How texts are kept from becoming markup: see ``templates``. The same session gives the same bytes.
"""

from __future__ import annotations

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
from fieldtui.report.templates import render_page
from fieldtui.report.text_summary import DEFERENCE


def format_html(session: ReadSession) -> str:
    """The report as one HTML document."""
    survey = session.survey
    findings = find_exceptions(session)
    accuracy = survey.instrument.accuracy
    return render_page(
        "report.html",
        session=session,
        facts=session.facts,
        deference=DEFERENCE,
        identity=describe_identity(session),
        meter=describe_meter(session),
        counts=describe_counts(survey),
        front=front_findings(findings),
        signatures=signature_lines(survey),
        summary=summary_words(survey, findings),
        criteria=criteria_table(survey, session.facts.criteria),
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
