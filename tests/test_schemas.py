"""Every answer given as JSON has the layout that the package describes, key for key."""

from __future__ import annotations

import copy
import functools
import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from seamtree.schemas import NAMES, schema_of
from tests.cli.running import run

SAMPLES = Path(__file__).parents[1] / "samples"

COMMANDS = {
    "check": (
        "seamtree/1",
        ["dinghy.svg", "net-shed.svg", "mackerel.wkt", "rope-coil.svg"],
        ["--explain", "--picture"],
    ),
    "mend": ("seamtree-mend/1", ["net-shed.svg"], ["--curve-tolerance", "0.2"]),
    "proofread": ("seamtree-proofread/1", ["mussel.svg"], []),
    "rate": ("seamtree-rating/1", ["dinghy.svg"], []),
    "check under wishes": (
        "seamtree/1",
        ["mussel.svg", "buoy.svg"],
        ["--fit", "letter", "--prefer", "repeats", "--renumber", "--compare"],
    ),
    "check as printed": ("seamtree/1", ["mussel.svg"], []),
    "pack": ("seamtree-pack/1", ["buoy.svg"], []),
}


def validator(name):
    return Draft202012Validator(schema_of(name))


@functools.cache
def answers(command):
    name, sources, options = COMMANDS[command]
    told = run(command.split()[0], *(str(SAMPLES / source) for source in sources), *options, "--json")
    return name, [json.loads(line) for line in told.stdout.splitlines()]


@pytest.mark.parametrize("name", NAMES)
def test_schemas_are_schemas(name):
    Draft202012Validator.check_schema(schema_of(name))


@pytest.mark.parametrize("command", COMMANDS)
def test_answers_have_the_layout_that_they_name(command):
    name, found = answers(command)
    assert len(found) == len(COMMANDS[command][1])
    for answer in found:
        assert answer["schema"] == name
        validator(name).validate(answer)


def test_answers_about_refuted_numbers_have_their_layout(tmp_path):
    swapped = tmp_path / "swapped.svg"
    text = (SAMPLES / "mussel.svg").read_text(encoding="utf-8")
    assert ">A2<" in text
    assert ">A14<" in text
    swapped.write_text(text.replace(">A2<", ">!<").replace(">A14<", ">A2<").replace(">!<", ">A14<"), encoding="utf-8")
    (answer,) = map(json.loads, run("proofread", str(swapped), "--json").stdout.splitlines())
    assert answer["blocks"][0]["refutations"]
    assert answer["blocks"][0]["units"][0]["nearest"]
    validator("seamtree-proofread/1").validate(answer)


def test_records_of_an_audit_have_their_layout(tmp_path):
    out = tmp_path / "out.jsonl"
    (tmp_path / "shelf").mkdir()
    for name in (".net.svg", "rope.svg"):
        (tmp_path / "shelf" / name).write_bytes((SAMPLES / "mussel.svg").read_bytes())
    places = [*(str(SAMPLES / name) for name in ("mussel.svg", "faulty-gap.svg")), str(tmp_path / "shelf")]
    store = ["--store", str(tmp_path / "store")]
    run("audit", *places, "--workers", "1", "--proofread", "--rate", "--json-lines", str(out), *store)
    records = [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()]
    assert [record["state"] for record in records] == ["audited", "faulty", "audited", "skipped"]
    assert records[0]["blocks"][0]["proof"]
    assert records[0]["blocks"][0]["rating"]
    for record in records:
        validator("seamtree-audit/1").validate(record)


def test_lessons_of_a_course_have_the_layout_of_ratings():
    told = run("rate", "--course", str(SAMPLES / "catalogue"), "--json")
    lessons = [json.loads(line) for line in told.stdout.splitlines()]
    assert lessons
    for lesson in lessons[:20]:
        assert {"step", "new_skills", "builds_on", "too_early", "section", "lesson"} <= set(lesson)
        validator("seamtree-rating/1").validate(lesson)


def test_ratings_at_several_widths_have_their_layout():
    told = run("rate", str(SAMPLES / "dinghy.svg"), "--widths", "0.2,6", "--json")
    (answer,) = map(json.loads, told.stdout.splitlines())
    assert [bool(row["fault"]) for row in answer["widths"]] == [True, False]
    validator("seamtree-rating/1").validate(answer)
    for key in ("widths", "begins"):
        assert not validator("seamtree-rating/1").is_valid({k: v for k, v in answer.items() if k != key})


def without_each_key(value, path=()):
    """Yield the place of every key in plain data."""
    if isinstance(value, dict):
        for key, below in value.items():
            if path[-1:] != ("parts",):  # minutes by the names of a scale, which no layout knows
                yield (*path, key)
            yield from without_each_key(below, (*path, key))
    elif isinstance(value, list):
        for k, below in enumerate(value[:2]):
            yield from without_each_key(below, (*path, k))


@pytest.mark.parametrize("command", ["mend", "proofread", "rate", "pack"])
def test_no_key_may_be_missing_and_more_may_come(command):
    name, (answer, *_) = answers(command)
    check = validator(name)
    for *path, key in without_each_key(answer):
        spoilt = copy.deepcopy(answer)
        inner = spoilt
        for step in path:
            inner = inner[step]
        del inner[key]
        assert not check.is_valid(spoilt), (path, key)
        inner[key] = {"of another": "kind"}
        assert not check.is_valid(spoilt), (path, key)
    check.validate({**answer, "more": 1})


def test_every_key_is_described():
    """The schema is the one place that describes the answers, so it knows every key that is given."""

    def known(schema):
        if isinstance(schema, dict):
            yield from schema.get("properties", ())
            for below in schema.values():
                yield from known(below)
        elif isinstance(schema, list):
            for below in schema:
                yield from known(below)

    described = set(known(schema_of("seamtree/1")))
    for command in COMMANDS:
        for answer in answers(command)[1]:
            for *_, key in without_each_key(answer):
                assert key in described, key
