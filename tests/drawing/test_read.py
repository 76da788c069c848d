"""Finding out what a file is, and refusing what is none."""

from __future__ import annotations

import gzip
import io
import json
import os
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.drawing import limits
from seamtree.drawing.read import find_format, read_drawing
from seamtree.errors import DrawingError, LimitError, OptionError

SVG = b"""<svg xmlns="http://www.w3.org/2000/svg"><rect width="96" height="96" fill="red"/></svg>"""
GEOJSON = json.dumps({"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]]}).encode()
WKT = b"POLYGON ((0 0, 1 0, 1 1, 0 1, 0 0))"


@pytest.fixture
def write(tmp_path: Path):
    def made(name: str, data: bytes) -> Path:
        path = tmp_path / name
        path.write_bytes(data)
        return path

    return made


def refusal(path: str | Path, **options) -> tuple[str, str]:
    with pytest.raises(DrawingError) as caught:
        read_drawing(path, **options)
    assert caught.value.source == str(path)
    (finding,) = caught.value.findings
    return finding.code, finding.message


@pytest.mark.parametrize(
    ("data", "name", "kind"),
    [
        (SVG, "a.svg", "svg"),
        (SVG, "a.txt", "svg"),
        (SVG, "a.wkt", "svg"),
        (b"\xef\xbb\xbf \n" + SVG, "a", "svg"),
        (SVG.decode().encode("utf-16"), "a", "svg"),
        (SVG.decode().encode("utf-16-be"), "a", "svg"),
        (gzip.compress(SVG, mtime=0), "a.svgz", "svg"),
        (GEOJSON, "a.geojson", "geojson"),
        (b"\xef\xbb\xbf\n" + GEOJSON, "a.svg", "geojson"),
        (WKT, "a.wkt", "wkt"),
        (b"\n\n" + WKT.lower(), "a.svg", "wkt"),
        (b"SRID=0;" + WKT, "a", "wkt"),
        (b"ahoy", "a.svg", "svg"),
        (b"ahoy", "a.SVGZ", "svg"),
        (b"ahoy", "a.json", "geojson"),
        (b"ahoy", "a.wkt", "wkt"),
    ],
)
def test_the_format_is_told_by_content_then_by_suffix(data: bytes, name: str, kind: str) -> None:
    assert find_format(data, name) == kind


@pytest.mark.parametrize(("data", "name"), [(SVG, "a.svg"), (GEOJSON, "a.geojson"), (WKT, "a.wkt")])
def test_the_same_square_in_every_format(write, data: bytes, name: str) -> None:
    path = write(name, data)
    for given_path in (path, str(path)):
        drawing = read_drawing(given_path)
        assert drawing.source == str(path)
        assert set(drawing.shapes[0].tracks[0].points) == {(0, 0), (1, 0), (1, 1), (0, 1)}
    wide = read_drawing(path, width=5.0)
    assert max(x for x, _ in wide.shapes[0].tracks[0].points) == 5


@pytest.mark.parametrize("data", [SVG, GEOJSON, WKT])
def test_standard_input(monkeypatch: pytest.MonkeyPatch, data: bytes) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
    drawing = read_drawing("-")
    assert drawing.source == "-"
    assert len(drawing.shapes) == 1


def test_no_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", None)
    assert refusal("-")[0] == "unreadable"


def test_endless_standard_input_is_not_read_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_BYTES", 1000)

    class Endless(io.RawIOBase):
        def readable(self) -> bool:
            return True

        def readinto(self, buffer) -> int:
            buffer[:] = b"<" * len(buffer)
            return len(buffer)

    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BufferedReader(Endless())))
    code, message = refusal("-")
    assert code == "too-large"
    assert "1,000 bytes" in message


def test_a_huge_file_is_refused_without_reading_it(tmp_path: Path) -> None:
    path = tmp_path / "harbour.svg"
    with path.open("wb") as file:
        file.truncate(100_000_000)  # a hole: takes no space on the disk
    with pytest.raises(LimitError) as caught:
        read_drawing(path)
    assert "100,000,000 bytes" in str(caught.value)
    assert f"at most {limits.MAX_BYTES:,} bytes" in str(caught.value)


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le"]
)
@pytest.mark.parametrize("data", [SVG, b"<?xml version='1.0' encoding='UTF-8'?>\n" + SVG, GEOJSON, WKT])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_every_format_in_every_encoding_with_and_without_its_mark(
    write, data: bytes, encoding: str, mark: str
) -> None:
    path = write("harbour", (mark + data.decode()).encode(encoding))
    assert set(read_drawing(path).shapes[0].tracks[0].points) == {(0, 0), (1, 0), (1, 1), (0, 1)}


def test_fabrics_and_labels_come_through_utf_16(write) -> None:
    square = {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]]}
    feature = {"type": "Feature", "geometry": square, "properties": {"fabric": "türkis", "label": "Größe 鷗"}}
    (shape,), (label,) = (
        getattr(read_drawing(write("a", json.dumps(feature, ensure_ascii=False).encode("utf-16"))), name)
        for name in ("shapes", "labels")
    )
    assert (shape.fill, label.text) == ("türkis", "Größe 鷗")


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"\xff\xfe<\x00s", "not-xml"),
        (b"\xff\xfe<\x00s\x00v", "not-xml"),
        (b"\xff\xfe{\x00\x00\xd8", "bad-geojson"),
        (b"\xfe\xff\x00P\x00O\x00I\x00N\x00T\xd8\x00", "bad-wkt"),
    ],
)
def test_damaged_utf_16(write, data: bytes, code: str) -> None:
    assert refusal(write("harbour", data))[0] == code


@pytest.mark.parametrize("data", [b"", b" \n\t", b"\xef\xbb\xbf", b"\x00" * 10, b"\xff\xfe", b"\xfe\xff\x00\n"])
def test_empty_files(write, data: bytes) -> None:
    assert refusal(write("a.svg", data))[0] == "empty"


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("a.png", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "not-a-drawing"),
        ("a.svg", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "not-a-drawing"),
        ("a.pdf", b"%PDF-1.7\n", "damaged-file"),
        ("a.txt", b"Dear sewist", "not-a-drawing"),
        ("a.svg", b"Dear sewist", "not-xml"),
        ("a.html", b"<!DOCTYPE html><html></html>", "not-svg"),
        ("a.svg", b"\x1f\x8bnot really packed", "not-xml"),
        ("a.json", b"Dear sewist", "bad-geojson"),
        ("a.json", b"[1, 2]", "bad-geojson"),
        ("a.wkt", b"Dear sewist", "bad-wkt"),
    ],
)
def test_wrong_things(write, name: str, data: bytes, code: str) -> None:
    found, message = refusal(write(name, data))
    assert found == code
    assert len(message) < 300


def test_missing_files_and_directories(tmp_path: Path) -> None:
    assert refusal(tmp_path / "dinghy.svg")[0] == "unreadable"
    assert "No such file" in refusal(tmp_path / "dinghy.svg")[1]
    assert "directory" in refusal(tmp_path)[1].lower()
    assert refusal("a\x00b")[0] == "unreadable"
    assert refusal("x" * 5000)[0] == "unreadable"


def test_files_that_may_not_be_read(write, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write("a.svg", SVG)

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, os.strerror(13))

    monkeypatch.setattr(Path, "open", refuse)  # the one who runs the tests may be allowed to read everything
    assert "denied" in refusal(path)[1]


@pytest.mark.parametrize("width", [0.0, -1.0, float("nan"), float("inf"), 1e9])
def test_widths_that_make_no_sense(write, width: float) -> None:
    with pytest.raises(OptionError, match="width"):
        read_drawing(write("a.wkt", WKT), width=width)


@pytest.mark.parametrize("tolerance", [0.0, -1.0, float("nan"), float("inf"), 1e-9])
def test_tolerances_that_make_no_sense(write, tolerance: float) -> None:
    with pytest.raises(OptionError, match="tolerance"):
        read_drawing(write("a.wkt", WKT), tolerance=tolerance)


def test_only_svg_drawings_have_layers(write) -> None:
    with pytest.raises(OptionError, match="no layers"):
        read_drawing(write("a.wkt", WKT), skip_layers=["paper"])


@given(
    st.binary(max_size=60),
    st.sampled_from(
        [b"", b"<svg ", b"{", b"POLYGON((", b"\x1f\x8b", b"\xff\xfe", b"\xef\xbb\xbf", SVG[:80], GEOJSON[:40]]
    ),
    st.sampled_from(["-", "a.svg", "a.json", "a.wkt", "a.txt"]),
)
def test_no_bytes_make_a_traceback(data: bytes, start: bytes, name: str) -> None:
    from seamtree.drawing.geojson import read_geojson
    from seamtree.drawing.svg.read import read_svg
    from seamtree.drawing.wkt import read_wkt

    try:
        kind = find_format(start + data, name)
        {"svg": read_svg, "geojson": read_geojson, "wkt": read_wkt}[kind](start + data, source=name)
    except DrawingError as error:
        told = str(error)
        assert told
