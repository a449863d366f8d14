"""``report.html``: the whole record as one page that needs nothing else, on screen and on paper.

No script, no link to anywhere, no font or picture from outside; the page's own policy forbids them.
How texts are kept from becoming markup: see ``templates``. The same session gives the same bytes.
"""

from __future__ import annotations

from fieldtui.desk.reading import ReadSession
from fieldtui.desk.remarks import NO_REMARKS, Remarks
from fieldtui.report.charts.along_route import route_charts
from fieldtui.report.charts.histogram import histogram
from fieldtui.report.charts.pairs import pair_charts
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.identity import describe_counts, describe_identity, describe_meter
from fieldtui.report.remark_words import remark_head, remark_notes, remarks_title, trouble_lines
from fieldtui.report.tables.facts import (
    budget_table,
    criteria_table,
    front_findings,
    signature_lines,
    stated_accuracy,
    summary_words,
)
from fieldtui.report.tables.observed import observed_lines
from fieldtui.report.tables.points import path_table, point_tables, reading_tables
from fieldtui.report.tables.trail import trail_tables
from fieldtui.report.templates import render_page
from fieldtui.report.text_summary import DEFERENCE
from fieldtui.report.unproven import Unproven, chain_words


def format_html(session: ReadSession, remarks: Remarks = NO_REMARKS) -> str:
    """The report as one HTML document; reviewers' remarks where there are any."""
    survey, unproven = session.survey, Unproven.of(session)
    findings = find_exceptions(session)
    return render_page(
        "report.html",
        session=session,
        facts=session.facts,
        deference=DEFERENCE,
        identity=describe_identity(session),
        meter=describe_meter(session),
        chain=chain_words(session),
        counts=describe_counts(session),
        front=front_findings(findings),
        signatures=signature_lines(survey),
        summary=summary_words(session, findings),
        criteria=criteria_table(survey, session.facts.criteria),
        findings=findings,
        charts=route_charts(survey, unproven),
        histogram=histogram(survey, unproven),
        pairs=pair_charts(survey, unproven),
        points=point_tables(session),
        paths=path_table(session),
        readings=reading_tables(session),
        accuracy=stated_accuracy(survey),
        budget=budget_table(survey),
        observed=observed_lines(session),
        trail=trail_tables(session),
        remarks=[(remark_head(each), each.remark.text, list(remark_notes(each))) for each in remarks.entries],
        remarks_title=remarks_title(remarks) if remarks else "",
        remarks_not_read=trouble_lines(remarks),
    )  # fmt: skip
