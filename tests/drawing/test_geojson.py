"""GeoJSON drawings, as RFC 7946 defines them."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.drawing import limits
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.geojson import read_geojson
from seamtree.errors import DrawingError, LimitError

SQUARE = [[0, 0], [2, 0], [2, 2], [0, 2], [0, 0]]


def read(document: Any, **options: Any) -> Drawing:
    data = document if isinstance(document, bytes) else json.dumps(document).encode()
    return read_geojson(data, source="t.geojson", **options)


def polygon(*rings: Any) -> dict[str, Any]:
    return {"type": "Polygon", "coordinates": list(rings)}


def feature(geometry: Any, **properties: Any) -> dict[str, Any]:
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def collection(*features: Any) -> dict[str, Any]:
    return {"type": "FeatureCollection", "features": list(features)}


def refusal(document: Any, **options: Any) -> tuple[list[str], str]:
    with pytest.raises(DrawingError) as caught:
        read(document, **options)
    assert caught.value.source == "t.geojson"
    return [finding.code for finding in caught.value.findings], str(caught.value)


def test_a_bare_polygon() -> None:
    drawing = read(polygon(SQUARE))
    assert drawing.kind == "polygons"
    (shape,) = drawing.shapes
    assert shape.fill == ""
    assert not shape.stroked
    (track,) = shape.tracks
    assert track.closed
    assert track.points == ((0, 2), (2, 2), (2, 0), (0, 0))


def test_the_y_axis_points_up_in_the_file_and_down_in_the_drawing() -> None:
    drawing = read(polygon([[10, 20], [14, 20], [14, 23], [10, 20]]))
    assert drawing.shapes[0].tracks[0].points == ((0, 3), (4, 3), (4, 0))


def test_features_have_fabrics_and_labels() -> None:
    drawing = read(
        collection(
            feature(polygon(SQUARE), fabric="#1f3a5f", label="A1", note="x"),
            feature(polygon([[2, 0], [4, 0], [4, 2], [2, 2], [2, 0]]), fabric="sand", label=7),
            {"type": "Feature", "geometry": polygon([[0, 2], [4, 2], [4, 3], [0, 2]]), "properties": None},
        )
    )
    assert [shape.fill for shape in drawing.shapes] == ["#1f3a5f", "sand", ""]
    assert [label.text for label in drawing.labels] == ["A1", "7"]
    assert 0 < drawing.labels[0].at[0] < 2 < drawing.labels[1].at[0] < 4
    assert [shape.name for shape in drawing.shapes] == ["polygon 1", "polygon 2", "polygon 3"]


def test_every_kind_of_geometry() -> None:
    drawing = read(
        {
            "type": "GeometryCollection",
            "geometries": [
                {"type": "MultiPolygon", "coordinates": [[SQUARE], [[[3, 0], [4, 0], [4, 1], [3, 0]]]]},
                {"type": "LineString", "coordinates": [[0, 1], [1, 1], [1, 1], [2, 1]]},
                {"type": "MultiLineString", "coordinates": [[[0, 0], [1, 1]], [[1, 1], [2, 0]]]},
                {"type": "Point", "coordinates": [0, 0]},
                {"type": "MultiPoint", "coordinates": [[0, 0], [1, 1]]},
            ],
        }
    )
    assert [(s.name, s.stroked, s.fill) for s in drawing.shapes] == [
        ("polygon 1", False, ""),
        ("polygon 2", False, ""),
        ("line 1", True, None),
        ("line 2", True, None),
        ("line 3", True, None),
    ]
    assert drawing.shapes[2].tracks[0].points == ((0, 1), (1, 1), (2, 1))
    (note,) = drawing.notes
    assert note.code == "points-left-out"
    assert note.message.startswith("2 points")


def test_heights_and_other_members_do_not_matter() -> None:
    document = polygon([[x, y, 5.5] for x, y in SQUARE]) | {"bbox": [0, 0, 2, 2], "crs": "x"}
    assert read(document) == read(polygon(SQUARE))


def test_the_width_is_that_of_everything() -> None:
    drawing = read(collection(feature(polygon(SQUARE)), feature(polygon([[6, 0], [8, 0], [8, 1], [6, 0]]))), width=4)
    assert drawing.shapes[0].tracks[0].points == ((0, 1), (1, 1), (1, 0), (0, 0))
    assert max(x for shape in drawing.shapes for x, _ in shape.tracks[0].points) == 4


def test_features_without_a_geometry_and_empty_coordinates_are_nothing() -> None:
    empty = {"type": "MultiPolygon", "coordinates": []}
    drawing = read(collection(feature(None), feature(polygon()), feature(empty), feature(polygon(SQUARE))))
    assert len(drawing.shapes) == 1


def test_a_mark_at_the_beginning_of_the_file() -> None:
    assert read(b"\xef\xbb\xbf" + json.dumps(polygon(SQUARE)).encode()) == read(polygon(SQUARE))


def test_fabrics_of_lines_are_told_to_be_left_out() -> None:
    drawing = read(collection(feature({"type": "LineString", "coordinates": [[0, 0], [1, 1]]}, fabric="sand")))
    assert [note.code for note in drawing.notes] == ["property-left-out"]


def test_words_are_cleaned() -> None:
    drawing = read(rb'{"type":"Feature","properties":{"label":" a\n\tb \ud800","fabric":" "},"geometry":'
                   + json.dumps(polygon(SQUARE)).encode() + b"}")  # fmt: skip
    assert drawing.labels[0].text == "a b ?"
    assert drawing.shapes[0].fill == ""


# -- what is wrong --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("document", "code", "words"),
    [
        (b"", "bad-geojson", "line 1"),
        (b"{", "bad-geojson", "line 1, column"),
        (b'{"type": "Polygon",\n "coordinates": [[[0 0]]]}', "bad-geojson", "line 2, column"),
        (b"\xff\xfe{", "bad-geojson", "UTF-8"),
        (b"[" * 100_000, "too-large", "256"),
        (b"1" * 10_000, "bad-geojson", "digits"),
        (b"null", "bad-geojson", "null"),
        ([], "bad-geojson", "[]"),
        ({"type": "Topology"}, "bad-geojson", "Topology"),
        ({"type": ["Polygon"]}, "bad-geojson", "Polygon"),
        ({"type": "FeatureCollection"}, "bad-geojson", "no list"),
        ({"type": "FeatureCollection", "features": {"a": 1}}, "bad-geojson", "no list"),
        ({"type": "Feature", "geometry": polygon(SQUARE), "properties": "sand"}, "bad-geojson", "sand"),
        ({"type": "Feature", "geometry": "sand"}, "bad-geojson", "sand"),
        ({"type": "GeometryCollection"}, "bad-geojson", "no list"),
        ({"type": "Polygon"}, "bad-geojson", "no list"),
        ({"type": "Polygon", "coordinates": SQUARE}, "bad-geojson", "position"),
        ({"type": "Polygon", "coordinates": [[SQUARE]]}, "bad-geojson", "position"),
        ({"type": "Polygon", "coordinates": ["abc"]}, "bad-geojson", "no list"),
        (polygon([[0, 0]]), "bad-geojson", "fewer than two"),
        (polygon([[0, 0], [1], [1, 1]]), "bad-geojson", "[1]"),
        (polygon([[0, 0], [True, 1], [1, 1]]), "bad-geojson", "true"),
        (polygon([[0, 0], ["1", 1], [1, 1]]), "bad-geojson", '"1"'),
        (polygon([[0, 0], [10**400, 1], [1, 1]]), "bad-geojson", "too large"),
        (b'{"type":"Polygon","coordinates":[[[0,0],[NaN,0],[1,1],[0,0]]]}', "bad-number", "NaN"),
        (b'{"type":"Polygon","coordinates":[[[0,0],[-Infinity,0],[1,1],[0,0]]]}', "bad-number", "-Infinity"),
        (b'{"type":"Polygon","coordinates":[[[0,0],[1e999,0],[1,1],[0,0]]]}', "bad-number", "inf"),
        (feature(polygon(SQUARE), fabric={"r": 1}), "bad-geojson", "fabric of polygon 1"),
        (feature(polygon(SQUARE), label=True), "bad-geojson", "label of polygon 1"),
        (collection(), "empty", "no polygons"),
        ({"type": "Point", "coordinates": [0, 0]}, "empty", "no polygons"),
        (polygon([[0, 0], [2, 0], [2, 2], [0, 2]]), "open-ring", "(0.00, 0.00) in"),
        (polygon([[0, 0], [2, 0], [0, 0]]), "zero-size", "no area"),
        (polygon([[0, 0], [2, 2], [1, 1], [0, 0]]), "zero-size", "no area"),
        (polygon([[1, 1], [1, 1], [1, 1], [1, 1]]), "zero-size", "no width"),
        ({"type": "LineString", "coordinates": [[1, 1], [1, 1]]}, "zero-size", "no width"),
        (polygon([[0, 0], [2e5, 0], [2e5, 2e5], [0, 0]]), "too-large", "100,000 in"),
        (polygon([[-1e308, 0], [1e308, 0], [1e308, 2e5], [-1e308, 0]]), "too-large", "too large"),
    ],
)
def test_what_cannot_be_read(document: Any, code: str, words: str) -> None:
    codes, message = refusal(document)
    assert codes == [code]
    assert words in message


def test_a_polygon_that_crosses_itself_is_named_with_the_place() -> None:
    codes, message = refusal(polygon([[0, 0], [4, 2], [4, 0], [0, 2], [0, 0]]))
    assert codes == ["self-crossing"]
    assert "polygon 1" in message
    assert "(2.00, 1.00) in" in message


def test_a_polygon_with_a_hole_is_named_with_the_place() -> None:
    codes, message = refusal(polygon([[0, 0], [6, 0], [6, 6], [0, 6], [0, 0]], [[2, 2], [2, 4], [4, 4], [2, 2]]))
    assert codes == ["hole"]
    assert "(2.00, 4.00) in" in message


def test_everything_that_is_wrong_is_named() -> None:
    bow = [[0, 0], [4, 2], [4, 0], [0, 2], [0, 0]]
    codes, message = refusal(
        collection(
            feature(polygon([[0, 0], [2, 0], [2, 2], [0, 2]])),
            feature(polygon(bow)),
            feature(polygon(SQUARE)),
            feature(polygon([[5, 5], [6, 6], [5, 5]])),
            feature({"type": "LineString", "coordinates": [[3, 3], [3, 3]]}),
        )
    )
    assert codes == ["open-ring", "self-crossing", "zero-size", "zero-size"]
    assert "Polygon 4" in message
    assert "Line 1" in message


def test_places_are_inches_at_finished_size() -> None:
    _, message = refusal(polygon([[0, 0], [4, 2], [4, 0], [0, 2], [0, 0]]), width=10)
    assert "(5.00, 2.50) in" in message


def test_there_is_an_end_to_telling() -> None:
    codes, message = refusal(collection(*(feature(polygon([[k, 0], [k + 1, 0], [k, 0]])) for k in range(80))))
    assert codes[50:] == ["more-findings"]
    assert "30 more" in message


def test_deep_nesting_is_refused() -> None:
    document: Any = polygon(SQUARE)
    for _ in range(limits.MAX_DEPTH - 1):
        document = {"type": "GeometryCollection", "geometries": [document]}
    assert len(read(document).shapes) == 1
    codes, _ = refusal({"type": "GeometryCollection", "geometries": [document]})
    assert codes == ["too-large"]
    features: Any = feature(polygon(SQUARE))
    for _ in range(limits.MAX_DEPTH):
        features = collection(features)
    assert refusal(features)[0] == ["too-large"]


def test_too_many_points_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_POINTS", 100)
    ring = [[math.cos(k), math.sin(k)] for k in range(101)]
    with pytest.raises(LimitError, match="at most 100"):
        read({"type": "LineString", "coordinates": ring})


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=4)
    | st.sampled_from(["Polygon", "Feature"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["type", "coordinates", "geometry", "geometries", "features", "properties", "fabric"]),
            inner,
        )
    ),
    max_leaves=12,
)


@given(json_values | st.builds(polygon, json_values) | st.builds(feature, st.builds(polygon, json_values)))
def test_any_json_is_a_drawing_or_an_error_in_words(document: Any) -> None:
    try:
        drawing = read(document)
    except DrawingError as error:
        told = str(error)
        assert told
    else:
        assert drawing.shapes
