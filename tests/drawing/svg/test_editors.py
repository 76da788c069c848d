"""Drawings as vector editors save them (imitations of their files, drawn for these tests)."""

import pytest

from seamtree.drawing.svg.read import read_svg
from tests.drawing.svg.helps import FILES, box, codes, read_file


def test_a_file_as_inkscape_saves_it():
    drawing = read_file("inkscape_dinghy.svg", skip_layers=["Cutting notes"])
    assert {shape.name: box(shape) for shape in drawing.shapes} == {
        "sky-port": (1, 1, 3, 5),
        "sky-starboard": (3, 1, 5, 5),
        "sea": (1, 5, 5, 6),
        "mainsail": (1.5, 1.5, 3, 4.5),
        "jib": (3, 2, 4, 4.5),
    }
    # Both gradients lend their colours from one, so both patches are of one fabric.
    assert [shape.fill for shape in drawing.shapes] == ["linearGradient4120"] * 2 + ["#2b6a8f", "#f3efe2", "#c8402f"]
    assert [len(set(shape.tracks[0].curves)) for shape in drawing.shapes] == [1, 1, 1, 1, 2]
    (label,) = drawing.labels
    assert label.text == "main sail"
    assert label.at == pytest.approx((2.5, 4.07), abs=0.01)
    (marking,) = drawing.markings
    assert [tuple(round(value, 6) for value in point) for point in marking.points] == [(2, 4.5), (3, 2.5)]
    assert codes(drawing) == ["layer-left-out"]
    assert codes(read_file("inkscape_dinghy.svg")) == ["image-left-out"]


def test_a_file_as_illustrator_saves_it():
    drawing = read_file("illustrator_lighthouse.svg")
    assert {shape.name: box(shape) for shape in drawing.shapes} == {
        "polygon 1 in Leuchtturm_1": (1, 1, 5, 7),
        "path 1 in Leuchtturm_1": (2.388889, 3, 3.611111, 4),
        "path 2 in Leuchtturm_1": (2.277778, 4, 3.722222, 5),
        "path 3 in Leuchtturm_1": (2.055556, 5, 3.944444, 7),
        "path 4 in Leuchtturm_1": (2.5, 1.5, 3.5, 3),
    }
    assert [shape.fill for shape in drawing.shapes] == ["#bfe3f0", "#c1272d", "#f7f3e8", "#c1272d", "#f7f3e8"]
    assert all(shape.stroked for shape in drawing.shapes)
    assert set(drawing.shapes[4].tracks[0].curves) == {0, 1, 2}
    assert [label.text for label in drawing.labels] == ["A1"]
    assert len(drawing.markings) == 1
    assert codes(drawing) == ["page-left-out"]


def test_a_file_as_affinity_saves_it():
    drawing = read_file("affinity_gull.svg")
    inch = 1 / 96
    assert [(shape.name, shape.fill, shape.evenodd) for shape in drawing.shapes] == [
        ("path 1 in Layer 1", "#8dbed6", True),
        ("path 2 in Layer 1", "#f6f4ee", True),
        ("path 3 in Guides", None, True),
    ]
    assert box(drawing.shapes[0]) == pytest.approx((100 * inch, 50 * inch, 500 * inch, 450 * inch), abs=1e-6)
    assert [len(track.points) for track in drawing.shapes[1].tracks] == [3, 3]
    assert box(read_file("affinity_gull.svg", width=8.0).shapes[0])[2] == pytest.approx(8 + 2, abs=1e-6)
    assert len(read_file("affinity_gull.svg", skip_layers=["Guides"]).shapes) == 2
    assert read_file("affinity_gull.svg", skip_layers=["Guides"]).notes[0].code == "layer-left-out"


def test_symbols_with_classes():
    drawing = read_file("symbols_buoy.svg")
    assert [(shape.fill, *box(shape)) for shape in drawing.shapes] == [
        ("#c0c0c0", 0, 0, 4, 2),
        ("#d1392b", 0, 2, 4, 4),
        ("#c0c0c0", 4, 0, 6, 2),
        ("#008000", 4, 2, 6, 4),
        ("#008080", 6, 0, 8, 2),
        ("#000080", 6, 2, 8, 4),
    ]


@pytest.mark.parametrize("file", sorted(FILES.glob("*.svg")), ids=lambda file: file.stem)
def test_the_same_drawing_twice_is_the_same(file):
    data = file.read_bytes()
    assert read_svg(data, source="t.svg", width=8.0) == read_svg(data, source="t.svg", width=8.0)
