"""The names that `seamtree` offers, and what they make of arguments that are wrong."""

from __future__ import annotations

import doctest
import importlib
import inspect
import io
import pydoc
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import seamtree
from tests.support import layouts
from tests.support.effort import times

PROJECT = Path(__file__).parents[1]
SAMPLES = PROJECT / "samples"

TWO_ROWS = b"POLYGON ((0 0, 4 0, 4 2, 0 2, 0 0))\nPOLYGON ((0 2, 4 2, 4 4, 0 4, 0 2))"

WITH_EXAMPLES = tuple(
    f"seamtree.{name}" for name in ("front", "block.build", "block.model", "planning.model", "schemas")
)

FUNCTIONS = (
    *(seamtree.read, seamtree.plan, seamtree.check_proof, seamtree.explain, seamtree.mend, seamtree.proofread),
    *(seamtree.rate, seamtree.pack, seamtree.render_svg, seamtree.render_png, seamtree.audit),
    seamtree.block_from_polygons,
)


@pytest.fixture(scope="module")
def rows():
    (block,) = seamtree.read(TWO_ROWS, name="rows.wkt")
    return block


@pytest.fixture(scope="module")
def buoy():
    (block,) = seamtree.read(SAMPLES / "buoy.svg")
    return seamtree.plan(block)


# -- what there is ------------------------------------------------------------------------------------------------


def test_every_name_is_there_listed_and_in_the_help():
    listed = dir(seamtree)
    assert set(seamtree.__all__) <= set(listed)
    for name in listed:
        assert getattr(seamtree, name) is not None
    told = pydoc.plain(pydoc.render_doc(seamtree))
    for name in seamtree.__all__:
        assert f"    {name}(" in told or f"    class {name}" in told or f"    {name} = class" in told


def test_names_are_found_after_a_plain_import_whatever_was_imported_before():
    code = (
        "import seamtree.mending.find, seamtree.proofreading.prove, seamtree.auditing.run\n"
        "import seamtree.planning.explain\n"
        "import seamtree\n"
        "assert all(callable(getattr(seamtree, name)) for name in seamtree.__all__)\n"
        "assert seamtree.picture.render_svg and seamtree.errors.DrawingError and seamtree.rating.rate\n"
        "assert seamtree.pattern.render_pack"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_what_is_not_there_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'sew'"):
        seamtree.sew  # noqa: B018


@pytest.mark.parametrize("name", seamtree.__all__)
def test_every_name_is_described(name):
    found = getattr(seamtree, name)
    assert found.__doc__
    assert not found.__doc__.startswith(f"{name}(")  # the one that a dataclass makes by itself


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
def test_every_function_tells_its_parameters_results_errors_and_an_example(function):
    told = inspect.getdoc(function)
    parts = ["Parameters", "Returns", "Raises", "Examples"]
    assert [told.find(f"\n{part}\n---") >= 0 for part in parts] == [True] * len(parts)
    described = told[told.index("Parameters") : told.index("Returns")]
    for parameter in inspect.signature(function).parameters:
        assert any(parameter in line.split(", ") for line in described.splitlines() if not line.startswith(" ")), (
            parameter
        )
    assert ">>> " in told


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_in_docstrings_do_what_they_say(name, monkeypatch):
    monkeypatch.chdir(PROJECT)
    done = doctest.testmod(importlib.import_module(name))
    assert done.attempted
    assert not done.failed


# -- reading ------------------------------------------------------------------------------------------------------


def test_path_bytes_and_open_files_read_alike():
    path = SAMPLES / "buoy.svg"
    with path.open("rb") as binary, path.open(encoding="utf-8") as text:
        found = [
            seamtree.read(path),
            seamtree.read(str(path)),
            seamtree.read(binary),
            seamtree.read(text),
            seamtree.read(path.read_bytes(), name="buoy.svg"),
            seamtree.read(memoryview(path.read_bytes()), name="buoy"),
            seamtree.read(io.StringIO(path.read_text(encoding="utf-8")), name="buoy"),
        ]
    assert all(blocks == found[0] for blocks in found)


def test_text_that_states_the_encoding_of_its_bytes_is_read():
    square = "<svg xmlns='http://www.w3.org/2000/svg' width='4in' height='4in' viewBox='0 0 4 4'>"
    square += "<rect id='Tümpel' width='4' height='4' fill='#336699'/><text x='1' y='2' font-size='1'>Ü1</text></svg>"
    text = f"<?xml version='1.0' encoding='ISO-8859-1'?>{square}"
    (from_bytes,) = seamtree.read(text.encode("latin-1"))
    (from_text,) = seamtree.read(io.StringIO(text))
    assert from_text == from_bytes
    assert from_text.patches[0].label == "Ü1"


def test_bytes_are_called_drawing_unless_they_have_a_name():
    assert [seamtree.read(TWO_ROWS)[0].name, seamtree.read(TWO_ROWS, name="pier.wkt")[0].name] == ["drawing", "pier"]


def test_files_that_cannot_be_read_are_faulty_drawings(tmp_path):
    closed = io.BytesIO(TWO_ROWS)
    closed.close()
    with pytest.raises(seamtree.DrawingError, match=r"cannot be read: .*closed file"):
        seamtree.read(closed)
    (tmp_path / "odd.wkt").write_bytes(b"\xff\xff")
    with (tmp_path / "odd.wkt").open(encoding="utf-8") as odd, pytest.raises(seamtree.DrawingError, match="decode"):
        seamtree.read(odd)
    with pytest.raises(seamtree.DrawingError, match="No such file"):
        seamtree.read(tmp_path / "missing.svg")


def test_bytes_beyond_the_limit_are_refused(monkeypatch):
    monkeypatch.setattr("seamtree.drawing.limits.MAX_BYTES", 50)
    for source in (TWO_ROWS, io.BytesIO(TWO_ROWS), io.StringIO(TWO_ROWS.decode())):
        with pytest.raises(seamtree.LimitError, match="at most 50 bytes"):
            seamtree.read(source)


# -- what answers can do ------------------------------------------------------------------------------------------


def test_a_unit_is_found_by_its_name(buoy):
    assert [buoy.unit(unit.name) for unit in buoy.units()] == list(buoy.units())
    with pytest.raises(seamtree.OptionError, match="name must be a unit of the plan, A to H, not 'Z'"):
        buoy.unit("Z")


def test_a_walk_meets_parts_before_their_join_and_all_patches_in_the_end(buoy):
    done = []
    for node in buoy.walk():
        if isinstance(node, seamtree.Join):
            assert all(part in done for part in node.parts)
            assert sorted(node.patches) == sorted(p for part in node.parts for p in part.patches)
        done.append(node)
    assert done[-1] is buoy.tree
    assert sorted(done[-1].patches) == list(range(buoy.counts.patches))


def test_the_place_of_a_junction(buoy):
    block = buoy.block
    assert [block.place(j) for j in range(len(block.junctions))] == list(block.junctions)
    assert block.place(np.int64(3)) == block.junctions[3]
    for junction in (-1, len(block.junctions)):
        with pytest.raises(seamtree.OptionError, match="junction must be a whole number from 0 to 55"):
            block.place(junction)


@pytest.mark.parametrize("sample", ["buoy", "net-shed", "rope-coil", "compass", "mussel"])
def test_what_is_shown_of_an_answer_is_short(sample):
    for block in seamtree.read(SAMPLES / f"{sample}.svg"):
        plan = seamtree.plan(block)
        shown = [block, *block.patches, *block.edges, plan, plan.counts, plan.bound, *plan.warnings]
        shown += [*plan.walk(), *(join.seam for join in plan.joins())]
        shown += [corner for join in plan.joins() for corner in join.seam.corners]
        shown += [seamtree.explain(plan), seamtree.rate(plan, changes=False)]
        assert max(len(repr(answer)) for answer in shown) < 300


def test_what_is_shown_of_other_answers_is_short():
    (block,) = seamtree.read(SAMPLES / "net-shed.svg")
    mending = seamtree.mend(block)
    (mussel,) = seamtree.read(SAMPLES / "mussel.svg")
    (record,) = seamtree.audit(SAMPLES / "net-shed.svg", seamtree.AuditSettings(pictures=True))
    shown = [mending, *mending.alternatives, seamtree.proofread(mussel), record, *record.blocks]
    shown += [seamtree.rating.default_scale(), seamtree.Look(), seamtree.PackOptions(), seamtree.AuditSettings()]
    shown += [seamtree.Finding("gap", "There is a gap. " * 100, (1.0, 2.0))]
    assert max(len(repr(answer)) for answer in shown) < 300


def test_a_long_name_does_not_make_what_is_shown_long(rows):
    (block,) = seamtree.read(TWO_ROWS, name="x" * 5000)
    plan = seamtree.plan(block)
    assert max(len(repr(answer)) for answer in (block, plan, seamtree.explain(plan), seamtree.rate(plan))) < 300


def test_notebooks_show_pictures_with_ids_of_their_own(buoy, rows):
    pictures = [buoy._repr_svg_(), buoy.block._repr_svg_(), seamtree.plan(rows)._repr_svg_(), rows._repr_svg_()]
    assert all(picture.startswith("<svg ") for picture in pictures)
    titles = {picture.split('id="')[1].split('"')[0] for picture in pictures}
    assert len(titles) == len(pictures)


def test_the_drawing_after_mending_reads_back():
    (block,) = seamtree.read(SAMPLES / "net-shed.svg")
    mending = seamtree.mend(block)
    (again,) = seamtree.read(mending.to_svg().encode())
    assert len(again.patches) == mending.best.counts.patches


def test_an_audit_gives_a_record_of_each_drawing_and_keeps_it(tmp_path):
    places = [SAMPLES / "mussel.svg", str(SAMPLES / "faulty-gap.svg")]
    store = tmp_path / "kept.sqlite"
    records = {Path(record.source).stem: record for record in seamtree.audit(places, store=store)}
    assert {name: record.verdict for name, record in records.items()} == {
        "mussel": "joined units",
        "faulty-gap": "faulty",
    }
    assert store.is_file()
    assert {Path(r.source).stem: r for r in seamtree.audit(places, store=store)} == records


# -- arguments that are wrong -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda b, p: seamtree.read(3), "source must be a path, bytes or an open file, not a int"),
        (lambda b, p: seamtree.read(TWO_ROWS, width=-1), "width must be a number of inches above 0, at most 100,000"),
        (lambda b, p: seamtree.read(TWO_ROWS, width=float("nan")), "width must be .*, not nan"),
        (lambda b, p: seamtree.read(TWO_ROWS, tolerance="0.1"), "tolerance must be a number of inches, not a str"),
        (lambda b, p: seamtree.read(TWO_ROWS, tolerance=1e-9), "tolerance must be a number of inches from 1e-05"),
        (lambda b, p: seamtree.read(TWO_ROWS, skip_layers="marks"), "skip_layers must be a collection, not a str"),
        (lambda b, p: seamtree.read(TWO_ROWS, skip_layers=[1]), "skip_layers must be .*, not with an int"),
        (lambda b, p: seamtree.read(TWO_ROWS, name=b"pier"), "name must be a str, not a bytes"),
        (lambda b, p: seamtree.plan([b]), "block must be a Block, not a list"),
        (lambda b, p: seamtree.plan(None), "block must be a Block, not None"),
        (lambda b, p: seamtree.plan(b, time_limit=0), "time_limit must be a number of seconds above 0, not 0"),
        (lambda b, p: seamtree.plan(b, time_limit=True), "time_limit must be a number of seconds, not a bool"),
        (lambda b, p: seamtree.plan(b, time_limit=10**400), "time_limit must be .*, not so large a one"),
        (lambda b, p: seamtree.explain(b), "plan must be a Plan, not a Block"),
        (lambda b, p: seamtree.mend(b, goal="best"), "goal must be one of 'straight seams', 'units', "),
        (lambda b, p: seamtree.mend(b, alternatives=6), "alternatives must be a whole number from 1 to 5, not 6"),
        (lambda b, p: seamtree.mend(b, alternatives=10**5000), "alternatives must be .*, not so large a number"),
        (lambda b, p: seamtree.mend(b, alternatives=1.0), "alternatives must be a whole number, not a float"),
        (lambda b, p: seamtree.mend(b, curve_tolerance=-1), "curve_tolerance must be a number of inches above 0"),
        (lambda b, p: seamtree.mend(layouts.quarter_circle(), before=p), "before must be a plan of this block"),
        (lambda b, p: seamtree.proofread(b, best=p.tree), "best must be a Plan, not a Unit"),
        (lambda b, p: seamtree.rate(p, scale="mine.toml"), "scale must be a Scale, not a str"),
        (lambda b, p: seamtree.rate(p, changes=1), "changes must be True or False, not an int"),
        (lambda b, p: seamtree.pack([]), "plans must be a Plan or several, not none"),
        (lambda b, p: seamtree.pack([p, b]), "plans must be a Plan or several, not with a Block"),
        (lambda b, p: seamtree.pack(p, "a4"), "options must be an Options, not a str"),
        (lambda b, p: seamtree.render_svg(p, node="A"), "node must be a unit or join of the plan, not a str"),
        (lambda b, p: seamtree.render_svg(p, look={}), "look must be a Look, not a dict"),
        (
            lambda b, p: seamtree.render_svg(p, size=-3),
            "size must be a number of points from 0.001 to 100,000, not -3",
        ),
        (
            lambda b, p: seamtree.render_png(p, scale=float("inf")),
            "scale must be a number of points from 0.001 to 100,000, not inf",
        ),
        (lambda b, p: seamtree.render_png(p, resolution=None), "resolution must be .*, not None"),
        (lambda b, p: seamtree.audit(b"samples"), "places must be a collection, not a bytes"),
        (lambda b, p: seamtree.audit([3]), "places must be a path, not a int"),
        (lambda b, p: seamtree.audit("samples", workers=0), "workers must be a whole number from 1 to 1,000, not 0"),
        (lambda b, p: seamtree.audit("samples", limits=3), "limits must be a Limits, not an int"),
        (lambda b, p: p.unit(1), "name must be a str, not an int"),
        (lambda b, p: b.place(1.5), "junction must be a whole number, not a float"),
    ],
)
def test_wrong_arguments_are_told_by_name(call, message, rows):
    with pytest.raises(seamtree.OptionError, match=message) as told:
        call(rows, seamtree.plan(rows))
    assert str(told.value).startswith(told.value.argument)
    if "whole number, not" in message or " not a " in message or " not an " in message:
        assert isinstance(told.value, TypeError)


NUMBERS = st.one_of(
    st.integers(),
    st.floats(),
    st.fractions(),
    st.decimals(),
    st.complex_numbers(),
    st.just(10**400),
    st.just(Fraction(1, 10**400)),
    st.just(np.float32(3)),
)
JUNK = st.one_of(
    st.none(),
    st.booleans(),
    NUMBERS,
    st.text(max_size=20),
    st.binary(max_size=20),
    st.lists(st.one_of(NUMBERS, st.text(max_size=5), st.binary(max_size=5), st.none()), max_size=4),
    st.dictionaries(st.text(max_size=3), st.integers(), max_size=3),
    st.builds(object),
    st.just(np.zeros(3)),
    st.just(seamtree),
    st.just(seamtree.Plan),
    st.just("\ud800"),
    st.just("a\0b"),
)


def arguments_of(function, block, plan):
    """Return arguments that are right, so that one of them can be spoilt."""
    two_rows = [[(0, 0), (4, 0), (4, 2), (0, 2)], [(0, 2), (4, 2), (4, 4), (0, 4)]]
    first = {
        "source": TWO_ROWS,
        "polygons": two_rows,
        "block": block,
        "plan": plan,
        "plans": plan,
        "places": str(SAMPLES / "buoy.svg"),
    }
    parameters = inspect.signature(function).parameters
    return {name: first.get(name, parameter.default) for name, parameter in parameters.items()}


def call(function, right, name, value):
    """Call a function; whatever it gives is used, as far as that is quick."""
    given = {**right, name: value}
    parameters = inspect.signature(function).parameters
    positional = [given.pop(n) for n, p in parameters.items() if p.kind is p.POSITIONAL_OR_KEYWORD]
    return function(*positional, **given)


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
@given(data=st.data())
@settings(max_examples=times(60, 1000))
def test_nothing_but_errors_of_our_own_escapes(function, rows, tmp_path_factory, data):
    plan = seamtree.plan(rows)
    right = arguments_of(function, rows, plan)
    name = data.draw(st.sampled_from(sorted(right)))
    value = data.draw(JUNK)
    if name == "store" and isinstance(value, str | bytes):
        return  # would be a file wherever the tests run
    try:
        call(function, right, name, value)
    except seamtree.SeamtreeError as error:
        told = str(error)
    else:
        return
    assert told


OPTIONS = (
    seamtree.Look,
    seamtree.PackOptions,
    seamtree.AuditLimits,
    seamtree.AuditSettings,
)


@pytest.mark.parametrize("options", OPTIONS, ids=lambda options: options.__name__)
@given(data=st.data())
@settings(max_examples=times(100, 2000))
def test_options_of_anything_are_refused_with_an_error_of_our_own(options, data):
    names = sorted(inspect.signature(options).parameters)
    given = {data.draw(st.sampled_from(names)): data.draw(JUNK)}
    try:
        made = options(**given)
        if isinstance(made, seamtree.AuditSettings):
            seamtree.audit("samples/buoy.svg", made)
    except seamtree.SeamtreeError as error:
        told = str(error)
    else:
        return
    assert told


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: seamtree.Look(numbers="all"), "numbers must be one of 'patches', 'units', 'none', not 'all'"),
        (lambda: seamtree.Look(weights=1), "weights must be a str, not an int"),
        (lambda: seamtree.Look(legend=None), "legend must be True or False, not None"),
        (lambda: seamtree.PackOptions(paper="a4"), "paper must be a Paper, not a str"),
        (lambda: seamtree.PackOptions(allowance="1/4"), "allowance must be a number, not a str"),
        (lambda: seamtree.PackOptions(pages="no"), "pages must be a collection, not a str"),
        (lambda: seamtree.AuditLimits(seconds="1"), "seconds must be a number, not a str"),
        (lambda: seamtree.AuditLimits(megabytes=10**400), "megabytes must be a whole number .*, not 1000"),
        (lambda: seamtree.AuditSettings(skip_layers="marks").check(), "skip_layers must be a collection, not a str"),
        (lambda: seamtree.AuditSettings(rate=1).check(), "rate must be True or False, not an int"),
    ],
)
def test_wrong_options_are_told_by_name(call, message):
    with pytest.raises(seamtree.OptionError, match=message):
        call()


@given(source=st.one_of(st.binary(max_size=200), st.text(max_size=200)))
@example("\ud800")
@example("<?xml version='1.0' encoding='UTF-16'?><svg xmlns='http://www.w3.org/2000/svg'/>")
def test_open_files_of_anything_are_read_or_refused(source):
    file = io.BytesIO(source) if isinstance(source, bytes) else io.StringIO(source)
    try:
        found = seamtree.read(file)
    except seamtree.DrawingError as error:
        found = error.findings
    assert found


@pytest.mark.parametrize("gives", [None, 3, [b"POLYGON"]])
def test_files_that_give_neither_bytes_nor_text_are_refused(gives):
    class Odd:
        def read(self, size):
            return gives

    with pytest.raises(seamtree.ArgumentTypeError, match="source must read bytes or text"):
        seamtree.read(Odd())


POLYGONS = st.one_of(
    JUNK,
    st.lists(st.one_of(JUNK, st.lists(st.tuples(NUMBERS, NUMBERS), max_size=5)), max_size=3),
)


@given(polygons=POLYGONS, fabrics=JUNK, labels=JUNK, tolerance=st.one_of(JUNK, st.just(0.02)), name=JUNK)
@example([[(0, 0), (1, 0), (1, 1)]], [3], None, 0.02, "pier")
@example([[(0, 0), (1, 0), (1, 1)]], None, ["a", "b"], 0.02, "pier")
@example([{"type": "Polygon"}], None, None, 0.02, "pier")
@example([{"type": "Polygon", "coordinates": 3}], None, None, 0.02, "pier")
@settings(max_examples=times(150, 2000))
def test_polygons_of_anything_make_a_block_or_an_error_of_our_own(polygons, fabrics, labels, tolerance, name):
    try:
        seamtree.block_from_polygons(polygons, fabrics=fabrics, labels=labels, tolerance=tolerance, name=name)
    except seamtree.SeamtreeError as error:
        told = str(error)
    else:
        return
    assert told
