"""The end of a session in reports: signature lines, what was left undone, what paper says instead."""

from __future__ import annotations

from dataclasses import replace

from fieldtui.core.trail import events as ev
from fieldtui.report.findings.all import find_exceptions
from fieldtui.report.findings.finding import Kind
from fieldtui.report.html import format_html
from fieldtui.report.tables.facts import signature_lines
from tests.ui.review_fixtures import POINTS, Story, mohm, route_of


def kinds(story: Story, kind: Kind) -> list[str]:
    return [each.what for each in find_exceptions(story.session()) if each.kind is kind]


def test_signature_lines_are_filled_once_signed_and_empty_again_after_a_change() -> None:
    story = Story().read("SW-01", "1.38")
    assert [line[1:] for line in signature_lines(story.survey())] == [("", "", "", "")] * 2
    story.signed()
    technician, inspector = signature_lines(story.survey())
    assert technician[1:] == ("Ana", "T-12", "2026-05-04", "signed in row 3")
    assert inspector[1:4] == ("Ivo", "I-07", "2026-05-04")
    story.tell(ev.Noted, note="dew")
    assert [line[1] for line in signature_lines(story.survey())] == ["", ""]


def test_the_front_page_shows_the_signers_and_escapes_their_names() -> None:
    story = Story().read("SW-01", "1.38")
    story.by = "<b>Ann & Co</b>"
    story.tell(ev.Signed, ref=ev.Role.TECHNICIAN, reason="T<12")
    page = format_html(story.session())
    table = page[page.index('class="signatures"') :]
    table = table[: table.index("</table>")]
    assert "&lt;b&gt;Ann &amp; Co&lt;/b&gt;" in table and "T&lt;12" in table
    assert "<b>" not in table
    assert table.count("signed in row") == 1


def test_a_failed_check_and_what_it_reaches_are_told_until_they_are_let_stand() -> None:
    story = Story().brief().read("SW-01", "1.38")
    story.tell(
        ev.StandardRead, reading=mohm("2.9"), verdict=ev.Answer.BAD, ref=ev.CheckTime.AFTER, note="read 2.9"
    )
    assert kinds(story, Kind.METER) == ["read 2.9"]
    assert len(kinds(story, Kind.IN_DOUBT)) == 1
    story.tell(ev.Released, ref=1, reason="second meter agrees")
    assert kinds(story, Kind.IN_DOUBT) == []
    assert kinds(story, Kind.RELEASED) == ["1.38 mΩ was in doubt for a failed check of the meter"]


def test_what_is_left_undone_is_told_only_of_a_closed_session_one_line_a_group() -> None:
    points = [replace(POINTS[0], id=f"SW-{n:02d}", restore="seal") for n in range(1, 7)]
    story = Story(route_of(*points))
    for point in points:
        story.read(point.id, "1.38")
    assert kinds(story, Kind.UNDONE) == []
    story.tell(ev.Closed, reason="rain")
    reason, restore, meter, *_ = kinds(story, Kind.UNDONE)
    assert reason == "closed with things left undone"
    assert restore.startswith("finishes and panels to restore: Flap jumper: seal") and "and 2 more" in restore
    assert meter.startswith("meter checked out:")
    assert len(kinds(story, Kind.SIGNATURE)) == 2


def test_of_a_session_keyed_from_paper_it_is_said_where_to_look() -> None:
    story = Story().read("SW-01", "1.38").tell(ev.Closed)
    session = story.session()
    session = replace(session, facts=replace(session.facts, transcribed_from="sheet.csv"))
    (found,) = [each for each in find_exceptions(session) if each.kind in (Kind.UNDONE, Kind.SIGNATURE)]
    assert found.remedy == "look at the paper of sheet.csv"


def test_an_edited_trail_in_which_one_person_signed_twice_says_so_whatever_the_blanks() -> None:
    for name, stamp, is_one in (
        ("ilsa  quenby", "I-07", True), ("Ilsa\u3000Quenby", "I-07", True), ("Ivo", "t-12 ", True),
        ("Ilsa Quenbi", "I-07", False),
    ):  # fmt: skip
        story = Story(by="Ilsa Quenby").read("SW-01", "1.38")
        story.tell(ev.Signed, ref=ev.Role.TECHNICIAN, reason="T-12")
        story.by = name
        story.tell(ev.Signed, ref=ev.Role.INSPECTOR, reason=stamp)
        assert any("one person" in what for what in kinds(story, Kind.SIGNATURE)) == is_one


def test_what_was_let_stand_instead_of_a_retake_is_told_as_that() -> None:
    story = Story().read("SW-01", "1.38").tell(ev.RedoAsked, point="SW-01", ref=1, reason="tips")
    story.tell(ev.Released, ref=1, reason="read right after all")
    assert kinds(story, Kind.RELEASED) == ["1.38 mΩ was to be taken again"]
