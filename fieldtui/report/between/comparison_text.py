"""A comparison of two sessions as plain text for a person."""

from __future__ import annotations

from collections.abc import Iterator

from fieldtui.core.between.comparison import Change, Difference, Evidence
from fieldtui.core.between.history import Seen
from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.survey.position import State
from fieldtui.core.text import counted
from fieldtui.desk.comparing import Compared
from fieldtui.report.basis_words import rule_words
from fieldtui.report.between.history_lines import (
    describe_source,
    describe_unread,
    describe_value,
    format_exact,
    format_figure,
    indented_lines,
    joined_lines,
    named_lines,
    note_lines,
    part_lines,
    wrapped_lines,
)


def format_comparison(compared: Compared) -> str:
    """Every point, what is missing and worse first, newline at the end."""
    by_change: dict[Change, list[Difference]] = {change: [] for change in Change}
    for difference in compared.differences:
        by_change[difference.change].append(difference)
    lines = [
        *wrapped_lines(describe_source(compared.old), "old   ", "      "),
        *wrapped_lines(describe_source(compared.new), "new   ", "      "),
        *note_lines(compared.notes),
    ]
    for change, differences in by_change.items():
        if differences:
            lines += part_lines(f"{change.value.capitalize()}: {len(differences)}")
            for difference in differences:
                lines += _difference(difference)
    found = sum(difference.is_finding for difference in compared.differences)
    lines += ["", *wrapped_lines(_change_counts(by_change, found), "", "")]
    return joined_lines(lines)


def _change_counts(by_change: dict[Change, list[Difference]], found: int) -> str:
    words = ", ".join(f"{len(each)} {change.value}" for change, each in by_change.items() if each)
    total = sum(len(each) for each in by_change.values())
    unproven = ", not proven" if by_change[Change.UNPROVEN] else ""
    repaired = ", failed and repaired" if by_change[Change.REPAIRED] else ""
    told = f"{found or 'none'} missing{unproven}{repaired} or turned into fail"
    return f"{counted(total, 'point')}: {words or 'none'}; {told}"


def _difference(difference: Difference) -> Iterator[str]:
    old, new = difference.old, difference.new
    seen = new or old
    assert seen is not None  # a point of neither survey is not compared
    if difference.change is Change.UNREAD:
        yield from named_lines(seen, f"old {describe_unread(old)}, new {describe_unread(new)}")
        return
    yield from named_lines(seen)
    if difference.evidence is None:
        yield from indented_lines(f"old {_side(old)}")
        yield from indented_lines(f"new {_side(new)}")
    else:
        yield from indented_lines(f"{_side(old)} -> {_side(new)}, limit {_limits(difference, seen)}")
        yield from indented_lines(describe_evidence(difference.evidence, seen.unit))
    yield from _remarks(difference)


def describe_evidence(evidence: Evidence, unit: Unit) -> str:
    """``real: +1.00 mΩ, ratio 1.48, E_n 3.2``."""
    word = "real" if evidence.is_real else "not real"
    sign = "+" if evidence.difference >= 0 else "-"
    size = format_exact(abs(evidence.difference), unit)
    ratio = f"ratio {format_figure(evidence.ratio)}" if evidence.ratio is not None else "no ratio to zero"
    if evidence.e_n is not None:
        against = f"E_n {format_figure(evidence.e_n)}"
    else:
        against = f"no uncertainty stated, steps allow {format_exact(evidence.allowed, unit)}"
    return f"{word}: {sign}{size}, {ratio}, {against}"


def _remarks(difference: Difference) -> Iterator[str]:
    old, new = difference.old, difference.new
    if old is None or new is None:
        return
    if difference.is_limit_changed:
        yield from indented_lines(f"the limit changed from {_planned(old)} to {_planned(new)}")
    elif old.planned.rule_words != new.planned.rule_words:
        rules = [rule_words(seen.planned.rule) for seen in (old, new)]
        yield from indented_lines(f"the decision rule changed from {rules[0]} to {rules[1]}")
    if difference.is_place_changed:
        places = [f"{seen.a or 'not given'} to {seen.b or 'not given'}" for seen in (old, new)]
        yield from indented_lines(f"the places are worded otherwise: {places[0]}; now {places[1]}")
    for name, seen in (("old", old), ("new", new)):
        if seen.reading is not None and seen.is_unproven:
            yield from indented_lines(f"{name}: what came after is not proven: {_behind(seen)}")
        if seen.reading is not None and seen.reading.as_found is not None:
            value, verdict = seen.reading.as_found
            yield from indented_lines(f"{name}: as found {value} {verdict.value}")


def _limits(difference: Difference, seen: Seen) -> str:
    """That of the new value; where a rework had the old one judged by another, that too."""
    old, limit = difference.old, _limit(seen)
    if old is None or difference.is_limit_changed or _limit(old) == limit:
        return limit
    return f"{limit}, of the old value {_limit(old)}"


def _limit(seen: Seen) -> str:
    """The one that judged the value, with its decision rule, and in the unit of the value beside it."""
    limit = seen.limit.words(seen.reading.value.unit if seen.reading is not None else None)
    return f"{limit} after rework" if seen.limit != seen.planned else limit


def _planned(seen: Seen) -> str:
    return seen.planned.words(seen.reading.value.unit if seen.reading is not None else None)


def _behind(seen: Seen) -> str:
    """What the rows say that prove nothing."""
    if seen.behind_break is None:
        return "rows of it could not be read, or say that it has no value"
    return f"{describe_value(seen.behind_break)} stands behind the break"


def _side(seen: Seen | None) -> str:
    if seen is None or seen.reading is None:
        is_unproven = seen is not None and seen.is_unproven
        return f"not proven: {_behind(seen)}" if is_unproven and seen is not None else describe_unread(seen)
    waived = ", waived" if seen.state is State.WAIVED else ""
    asked = ", asked for again and not taken" if seen.is_asked_again else ""
    return f"{describe_value(seen.reading)}{waived}{asked}"
