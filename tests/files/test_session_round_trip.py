"""Facts that few sessions have come back from session.toml as they were; what is no fact is refused."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from fieldtui.core.measurement.decision import DecisionRule, RuleKind
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.plan.session import Session
from fieldtui.errors import BadInputError
from fieldtui.files.session.file import freeze_session, parse_session
from tests.files.test_session_file import CRITERIA, INSTRUMENT, LOADED, NAMED, SESSION, ohms

PLAIN = replace(INSTRUMENT, calibration_due=None, check_standard=None, accuracy=None)
NUMBERED = replace(PLAIN, erased_number_stays_used=False, spoiled_number_stays_used=False)
STEPPED = Accuracy(Decimal("0.5"), ohms("0.02"), ohms("0.01"), Decimal(2))
STEPLESS = Accuracy(Decimal("0.50"), ohms("0.020"), None, Decimal("1.96"))
CASES = {
    "a part": replace(SESSION, part=("S",), elsewhere={"Q1": "Stud of the others", "Q2": "Strap"}),
    "a bare meter": replace(SESSION, instrument=PLAIN),
    "numbers used again": replace(SESSION, instrument=NUMBERED),
    "a standard": replace(SESSION, instrument=replace(INSTRUMENT, settle_s=12, standard_every=20)),
    "accuracy with its step": replace(SESSION, instrument=replace(INSTRUMENT, accuracy=STEPPED)),
    "accuracy without": replace(SESSION, instrument=replace(INSTRUMENT, accuracy=STEPLESS)),
    "temperatures": replace(SESSION, ambient_c=Decimal("-5.0"), conductor_c=Decimal("31")),
    "from paper, practice": replace(SESSION, transcribed_from="sheet.csv", practice=True, follows=SESSION.id),
}


def there_and_back(session: Session) -> Session:
    return parse_session(freeze_session(session, LOADED.raw, CRITERIA)[0], "session.toml")


@pytest.mark.parametrize("session", CASES.values(), ids=CASES)
def test_it_comes_back(session: Session) -> None:
    assert there_and_back(session) == session


@pytest.mark.parametrize(
    "rule",
    [DecisionRule(RuleKind.SIMPLE), DecisionRule(RuleKind.GUARDED, Decimal("0.83")), None],
    ids=["simple", "guarded", "none"],
)
def test_the_rule_of_a_criterion_comes_back(rule: DecisionRule | None) -> None:
    criteria = {name: replace(criterion, rule=rule) for name, criterion in NAMED.items()}
    data = freeze_session(replace(SESSION, criteria=criteria), LOADED.raw, criteria)[0]
    found = parse_session(data, "session.toml")
    assert {name: criterion.rule for name, criterion in found.criteria.items()} == dict.fromkeys(
        criteria, rule
    )


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("practice = false", "practise = false", "practice is missing"),
        ("practice = false", "practice = 0", "neither true nor false"),
        ("started = 2026-05-01 09:30:01+00:00", 'started = "now"', "is not a time"),
    ],
)
def test_what_is_no_fact_is_refused(old: str, new: str, what: str) -> None:
    text = freeze_session(SESSION, LOADED.raw, CRITERIA)[0].decode()
    assert text.count(old) == 1
    with pytest.raises(BadInputError) as caught:
        parse_session(text.replace(old, new).encode(), "session.toml")
    assert any(what in problem.what for problem in caught.value.problems)


def test_a_route_that_is_no_table_is_refused() -> None:
    head = freeze_session(SESSION, LOADED.raw, CRITERIA)[0].decode().partition("[route]\n")[0]
    with pytest.raises(BadInputError) as caught:
        parse_session(("route = 3\n" + head).encode(), "session.toml")
    assert [problem.what for problem in caught.value.problems] == ["3 stands where a table is wanted"]
