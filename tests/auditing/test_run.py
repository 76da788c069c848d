"""Audits as a whole: what is worked on, what is kept, and what becomes of drawings that go wrong."""

from __future__ import annotations

import ctypes
import os
import time
from concurrent.futures import Executor, Future
from pathlib import Path

import pypdf
import pytest

import seamtree
from seamtree.auditing import Limits, Settings, Store, audit, find_drawings, local_executor
from seamtree.auditing import work as audit_work
from seamtree.errors import OptionError
from tests.support.wkt import FOUR_PATCH, GAP, ONE_UNIT, box

NUMBERED = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="3in" height="1in" viewBox="0 0 3 1" font-size="0.2">'
    '<rect width="1" height="1" fill="navy"/><rect x="1" width="1" height="1" fill="red"/>'
    '<rect x="2" width="1" height="1" fill="navy"/>'
    '<text x="0.5" y="0.5">{}</text><text x="1.5" y="0.5">{}</text><text x="2.5" y="0.5">{}</text></svg>'
)


class Here(Executor):
    """Makes calls at once, in this process, and counts them."""

    def __init__(self):
        self.calls = 0

    def submit(self, fn, /, *args, **kwargs):
        self.calls += 1
        future = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


class Sabotage(Executor):
    """Hands calls on to another executor; drawings that contain a word get another call."""

    def __init__(self, executor, calls):
        self.executor, self.calls = executor, calls

    def submit(self, fn, /, job):
        for word, call in self.calls.items():
            if word in job.data:
                return self.executor.submit(*call)
        return self.executor.submit(fn, job)


@pytest.fixture
def write(tmp_path):
    def write(name, text):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True, parents=True)
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write


@pytest.fixture
def run(tmp_path):
    """Audit drawings and return their records in the order of the drawings."""

    def run(sources, settings=None, *, executor=None, limits=None):
        with Store(tmp_path / "store.sqlite") as store:
            limits = limits or Limits()
            found = list(
                audit(sources, settings or Settings(), executor=executor or Here(), store=store, limits=limits)
            )
        assert sorted(record.source for record in found) == sorted(sources)
        return [next(record for record in found if record.source == source) for source in sources]

    return run


def test_a_record_says_what_the_plan_says(write, run):
    for text in (ONE_UNIT, FOUR_PATCH):
        path = write("quay.wkt", text)
        (record,) = run([path])
        (block,) = record.blocks
        plan = seamtree.plan(*seamtree.read(path))
        said = plan.to_json()
        assert (block.name, record.verdict, record.source) == ("quay", plan.verdict, path)
        for name in ("width", "height", "verdict", "proven", "bound", "counts"):
            assert getattr(block, name) == said[name]
        assert record.to_json()["blocks"][0]["warnings"] == said["warnings"]


def test_faults_are_those_of_the_drawing_and_name_it_once(write, run):
    path = write("gap.svg", "<svg")
    torn, missing, folder = run([path, path + "x", str(Path(path).parent)])
    assert {record.verdict for record in (torn, missing, folder)} == {"faulty"}
    assert "name⟧" not in repr((torn, missing, folder))
    assert [fault.code for fault in missing.faults] == ["unreadable"]
    (gap,) = run([write("gap.wkt", GAP)])
    with pytest.raises(seamtree.errors.DrawingError) as error:
        seamtree.read(gap.source)
    assert [fault.message for fault in gap.faults] == [finding.message for finding in error.value.findings]


def test_nothing_is_done_twice(write, run):
    paths = [write("one.wkt", ONE_UNIT), write("two.wkt", FOUR_PATCH), write("gap.wkt", GAP)]
    again = Here()
    first, second = run(paths), run(paths, executor=again)
    assert first == second
    assert again.calls == 0


def test_the_same_content_is_worked_on_once_under_all_its_names(write, run):
    paths = [write(name, FOUR_PATCH) for name in ("a.wkt", "deep/b.wkt", "c.WKT")]
    executor = Here()
    assert [record.blocks[0].name for record in run(paths, executor=executor)] == ["a", "b", "c"]
    assert executor.calls == 1
    assert [record.blocks[0].name for record in run([write("d.wkt", FOUR_PATCH)], executor=executor)] == ["d"]
    assert executor.calls == 1


@pytest.mark.parametrize(
    "settings",
    [Settings(width=12.0), Settings(tolerance=0.05), Settings(time_limit=3.0), Settings(proofread=True),
     Settings(pictures=True), Settings(rate=True)],
)  # fmt: skip
def test_other_settings_are_other_work(write, run, settings):
    path = write("one.wkt", ONE_UNIT)
    run([path])
    executor = Here()
    first, second = run([path], settings, executor=executor), run([path], settings, executor=executor)
    assert first == second
    assert executor.calls == 1


def test_pages_and_drawings_of_other_programs(tmp_path, write, run):
    home = Path(__file__).parents[1] / "drawing"
    dinghy, drawn = home / "pdf/files/dinghy-fpdf2.pdf", home / "dxf/files/dinghy-editor-r12.dxf"
    writer = pypdf.PdfWriter(clone_from=home / "pdf/files/lantern-fpdf2.pdf")
    writer.append(dinghy)
    writer.write(tmp_path / "both.pdf")
    paths = [str(tmp_path / "both.pdf"), str(dinghy), str(drawn), write("one.wkt", ONE_UNIT)]
    first, alone, drawn, one = run(paths)
    assert alone.blocks[0].counts["patches"] == drawn.blocks[0].counts["patches"] == 15
    assert first.blocks[0].seams != alone.blocks[0].seams
    second, missing, same, also = run(paths, Settings(pdf_page=2))
    assert second.blocks[0].seams == alone.blocks[0].seams
    assert "there is no page 2" in missing.faults[0].message
    assert (same, also) == (drawn, one)


def test_a_changed_drawing_or_program_is_other_work(write, run, monkeypatch):
    paths = [write("one.wkt", ONE_UNIT), write("two.wkt", FOUR_PATCH)]
    run(paths)
    executor = Here()
    write("one.wkt", ONE_UNIT + "\n" + box(0, 6, 6, 7))
    one, _ = run(paths, executor=executor)
    assert executor.calls == 1
    assert one.blocks[0].counts["patches"] == 4
    monkeypatch.setattr(audit_work, "code_version", lambda: "other")
    monkeypatch.setattr("seamtree.auditing.run.code_version", lambda: "other")
    run(paths, executor=executor)
    assert executor.calls == 3


def test_an_answer_of_another_version_is_refused(write, run, monkeypatch):
    monkeypatch.setattr("seamtree.auditing.run.code_version", lambda: "0.0.1+driftwood")
    (record,) = run([write("one.wkt", ONE_UNIT)])
    assert record.verdict == "crashed"
    assert "0.0.1+driftwood" in record.faults[0].message


def test_printed_numbers_are_proven_where_there_are_some(write, run):
    right = write("right.svg", NUMBERED.format("A1", "A2", "A3"))
    wrong = write("wrong.svg", NUMBERED.format("A1", "A3", "A2"))
    none = write("none.wkt", ONE_UNIT)
    records = run([right, wrong, none], Settings(proofread=True))
    assert [record.blocks[0].proof and record.blocks[0].proof["proven"] for record in records] == [True, False, None]
    assert records[1].blocks[0].proof["name"] == "wrong"
    assert run([wrong])[0].blocks[0].proof is None


def test_a_rating_is_that_of_the_plan(write, run):
    from seamtree.rating import rate

    path = write("one.wkt", FOUR_PATCH)
    (record,) = run([path], Settings(rate=True))
    assert record.blocks[0].rating == rate(seamtree.plan(*seamtree.read(path)), changes=False).to_json()


def test_pictures_are_small_and_bear_no_name(write, run):
    (record,) = run([write("buoy & bell.wkt", FOUR_PATCH)], Settings(pictures=True))
    picture = record.blocks[0].picture
    assert picture.startswith("<svg")
    assert "buoy" not in picture
    assert "name⟧" not in picture


def test_drawings_that_go_wrong_are_reported_and_tried_again_and_the_others_go_on(write, run):
    wrong = {b"HANG": (time.sleep, 3600), b"EAT": (bytearray, 2_000_000_000), b"CRASH": (ctypes.string_at, 0)}
    calls = {word.lower(): call for word, call in wrong.items()}
    paths = [
        write(
            f"{word}{k}.svg", f"<svg xmlns='http://www.w3.org/2000/svg' id='{word}'><path d='M0 0H96V96H0Z'/></svg>"
        )
        for k, word in enumerate(["hang", "fine", "eat", "well", "crash", "good"])
    ]
    limits = Limits(seconds=2, megabytes=300)
    for _ in range(2):
        with local_executor(workers=2, limits=limits) as executor:
            records = run(paths, executor=Sabotage(executor, calls), limits=limits)
        assert [record.verdict for record in records] == [
            "cut off", "single unit", "cut off", "single unit", "crashed", "single unit",
        ]  # fmt: skip
        said = [fault.message for record in records for fault in record.faults]
        assert "2 s" in said[0]
        assert "300 MB" in said[1]
        assert "SIGSEGV" in said[2]
    assert [record.verdict for record in run(paths)] == ["single unit"] * 6


def test_a_fault_of_the_program_is_told_and_not_kept(write, run, monkeypatch):
    path = write("one.wkt", ONE_UNIT)

    def fail(*_, **__):
        raise ZeroDivisionError("knot\nslipped")

    with monkeypatch.context() as patch:
        patch.setattr("seamtree.planning.build.plan", fail)
        (record,) = run([path])
        assert record.verdict == "crashed"
        assert "ZeroDivisionError: knot slipped" in record.faults[0].message
    assert run([path])[0].verdict == "single unit"


def test_memory_that_a_library_lacks_is_memory(write, run, monkeypatch):
    def fail(*_, **__):
        raise RuntimeError("std::bad_alloc")

    monkeypatch.setattr("seamtree.block.build.build_blocks", fail)
    (record,) = run([write("one.wkt", ONE_UNIT)])
    assert (record.verdict, record.faults[0].code) == ("cut off", "memory")


def test_drawings_below_a_folder(write, tmp_path):
    for name in (
        "b.svg",
        "a.WKT",
        "deep/c.geojson",
        "deep/d.svgz",
        "package.json",
        "notes.txt",
        ".hidden.svg",
        ".git/e.svg",
    ):
        write(name, ONE_UNIT)
    (tmp_path / "deep" / "loop").symlink_to(tmp_path)
    found = find_drawings([str(tmp_path)])
    assert [os.path.relpath(path, tmp_path) for path in found] == ["a.WKT", "b.svg", "deep/c.geojson", "deep/d.svgz"]
    again = find_drawings([str(tmp_path / "deep" / "d.svgz"), str(tmp_path), "package.json"])
    assert [Path(path).name for path in again] == ["d.svgz", "a.WKT", "b.svg", "c.geojson", "package.json"]
    (tmp_path / "empty").mkdir()
    with pytest.raises(OptionError, match="no drawings below"):
        find_drawings([str(tmp_path / "empty")])


@pytest.mark.parametrize("settings", [Settings(width=-1.0), Settings(tolerance=0.0), Settings(time_limit=0.0)])
def test_senseless_settings_are_refused(settings):
    with pytest.raises(OptionError):
        settings.check()


def test_senseless_limits_are_refused():
    for arguments in ({"seconds": 0}, {"seconds": float("nan")}, {"megabytes": 3}):
        with pytest.raises(OptionError):
            Limits(**arguments)


def test_the_version_tells_scales_apart(tmp_path, monkeypatch):
    monkeypatch.setattr(audit_work.seamtree, "__file__", str(tmp_path / "__init__.py"))
    found = []
    for rows in ("fabrics = []", "fabrics = [[3, 1]]"):
        (tmp_path / "default_scale.toml").write_text(rows, encoding="utf-8")
        found.append(audit_work.code_version.__wrapped__())
    assert found[0] != found[1]
