"""Rules read as they are written, and break where they should."""

from __future__ import annotations

from dataclasses import replace

import pytest

from seamtree.auditing import Record, parse_rules
from seamtree.auditing.rules import FIGURES, NAMES
from seamtree.errors import Finding, OptionError
from tests.auditing.test_store import BLOCK, COUNTS

PLAIN = replace(BLOCK, warnings=(), proof=None)


def broken(rule, **changes):
    (parsed,) = parse_rules([rule])
    return parsed.broken_by(Record("a.svg", "audited", blocks=(replace(PLAIN, **changes),)))


@pytest.mark.parametrize(
    ("rule", "changes"),
    [
        ("hard-corners", {"counts": COUNTS | {"set_in": 1}}),
        ("hard-corners", {"counts": COUNTS | {"curved": 1}}),
        ("unproven", {"proven": False}),
        ("refuted", {"proof": {"proven": False}}),
        ("warned", {"warnings": (Finding("healed", "Closed up."),)}),
        ("units>6", {"counts": COUNTS | {"units": 7}}),
        (" Units >= 6 ", {"counts": COUNTS | {"units": 6}}),
        ("matched-points=2", {"counts": COUNTS | {"matched_points": 2}}),
        ("width<5.5", {"width": 5.25}),
        ("height<=4", {"height": 4.0}),
        ("level>3", {"rating": {"level": 4, "score": 1.0}}),
        ("score>=9.5", {"rating": {"level": 1, "score": 9.5}}),
    ],
)
def test_a_rule_breaks_where_it_should_and_only_there(rule, changes):
    assert broken(rule, **changes)
    assert not broken(rule)


def test_one_block_breaks_a_rule_for_all():
    (rule,) = parse_rules(["unproven"])
    assert rule.broken_by(Record("a.svg", "audited", blocks=(PLAIN, replace(PLAIN, proven=False))))


def test_a_drawing_without_an_answer_breaks_none():
    faulty = Record("a.svg", "faulty", (Finding("gap", "There is a gap."),))
    assert not any(rule.broken_by(faulty) for rule in parse_rules([*NAMES, "units>0"]))
    assert not broken("faulty")


def test_several_in_one():
    assert [rule.text for rule in parse_rules(["unproven, units > 6", "refuted"])] == [
        "unproven",
        "units>6",
        "refuted",
    ]


@pytest.mark.parametrize(
    "text", ["", "units", "units>", "units>x", "units>-1", "units=>6", "hard corners", "tides>3", ">3", "units>6>7"]
)
def test_what_is_no_rule_is_refused_with_what_there_is(text):
    with pytest.raises(OptionError, match="is no rule") as refusal:
        parse_rules([text])
    for name in (*NAMES, *FIGURES):
        assert name in str(refusal.value)


def test_rules_say_what_they_need():
    rules = parse_rules(["refuted", "level>3", "score>1", "units>3", "unproven"])
    assert [rule.needs for rule in rules] == ["proofread", "rate", "rate", "", ""]


def test_a_slip_gets_a_hint():
    with pytest.raises(OptionError, match="Did you mean 'matched-points'"):
        parse_rules(["matched-point>3"])
    with pytest.raises(OptionError, match="Did you mean 'hard-corners'"):
        parse_rules(["hard-corner"])
