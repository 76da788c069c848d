import contextlib
import os
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.errors import OptionError
from seamtree.rating import SCALES, default_scale, named_scale, read_scale, scale_text
from seamtree.rating.features import KIND_OF, KINDS
from seamtree.rating.scale import Curve, parse_scale, scale_of

TEXT = scale_text("machine")


def changed(old: str, new: str) -> str:
    assert TEXT.count(old) == 1, old
    return TEXT.replace(old, new)


def test_the_default_scale_covers_every_feature():
    scale = default_scale()
    assert [curve.key for curve in scale.curves] == [kind.key for kind in KINDS]
    assert [level.word for level in scale.levels][::4] == ["beginner", "advanced"]
    assert len(scale.skills) > 5


@pytest.mark.parametrize("levels", [1, 3, 7])
def test_a_scale_has_as_many_levels_as_it_names(levels):
    tables = "".join(f"[[level]]\nword = 'grade {n}'\nfrom = {2 * n}\n" for n in range(levels))
    scale = parse_scale(tables + TEXT[TEXT.index("[points]") :], source="x")
    assert [scale.level_of(tenths) for tenths in (0, 19, 20, 10_000)] == [1, 1, min(2, levels), levels]


def test_too_many_levels_and_none():
    tables = "".join(f"[[level]]\nword = 'grade {n}'\nfrom = {n}\n" for n in range(21))
    for text in (tables, ""):
        with pytest.raises(OptionError, match="there have to be 1 to 20 tables"):
            parse_scale(text + TEXT[TEXT.index("[points]") :], source="x")


def test_a_copy_is_the_same_scale(tmp_path):
    path = tmp_path / "my-class.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    copy = read_scale(path)
    assert (copy.levels, copy.curves, copy.skills) == (
        default_scale().levels,
        default_scale().curves,
        default_scale().skills,
    )


@pytest.mark.parametrize(
    ("value", "tenths"), [(0, 0), (4, 0), (5, 5), (9, 25), (14, 38), (19, 50), (20, 50), (1e9, 50)]
)
def test_points_between_the_rows_are_in_proportion(value, tenths):
    # From 9 to 19 the points grow by 0.25 for each: 14 gives 3.75, rounded to 3.8.
    assert Curve("patches", ((4, 0), (9, 2.5), (19, 5))).tenths(value) == tenths


@pytest.mark.parametrize(("value", "tenths"), [(3, 0), (1, 0), (0.75, 10), (0.5, 20), (0.25, 40), (0, 40)])
def test_smaller_lengths_give_more_points(value, tenths):
    assert Curve("narrowest_patch", ((1, 0), (0.5, 2), (0.25, 4))).tenths(value) == tenths


def test_infinite_lengths_give_the_first_points():
    assert Curve("shortest_seam", ((1, 0), (0.5, 2))).tenths(float("inf")) == 0
    assert Curve("shortest_seam", ()).tenths(0.1) == 0


def test_the_points_may_start_above_none():
    assert Curve("units", ((1, 0.5), (2, 1.0))).tenths(0) == 5


@pytest.mark.parametrize("text", ["fabrics = []", "fabrics = [[3, 1]]"])
def test_short_rows_are_fine(text):
    assert parse_scale(changed("fabrics = [[3, 0], [6, 0.4], [12, 1.0]]", text), source="x").curves


FAULTS = [
    ("this is no TOML", None, "is no valid TOML"),
    ("fabrics = [[3, 0], [6, 0.4], [12, 1.0]]", "", "points.fabrics: it is missing; add fabrics = []"),
    ("fabrics = [[3, 0], [6, 0.4], [12, 1.0]]", "fabrics = 3", "points.fabrics: it has to be rows"),
    (
        "fabrics = [[3, 0], [6, 0.4], [12, 1.0]]",
        "fabrics = [[3, 0], [6]]",
        "points.fabrics: row 2 has to be two numbers",
    ),
    ("[6, 0.4], [12, 1.0]]", '["six", 0.4]]', "points.fabrics, row 2: it has to be a number, not 'six'"),
    ("[6, 0.4], [12, 1.0]]", "[true, 0.4]]", "points.fabrics, row 2: it has to be a number, not True"),
    ("[6, 0.4], [12, 1.0]]", "[6, nan]]", "points.fabrics, row 2: it has to be from 0 to 1,000, not nan"),
    ("[6, 0.4], [12, 1.0]]", "[6, inf]]", "it has to be from 0 to 1,000, not inf"),
    ("[6, 0.4], [12, 1.0]]", "[6, -1]]", "it has to be from 0 to 1,000, not -1"),
    (
        "[6, 0.4], [12, 1.0]]",
        "[2, 0.4]]",
        "points.fabrics: 2 comes after 3; the first numbers of the rows have to grow",
    ),
    (
        "[6, 0.4], [12, 1.0]]",
        "[6, 0.4], [9, 0.3]]",
        "9 gives 0.3 points after 0.4; a harder block is never worth fewer",
    ),
    ("[0.75, 0.4], [0.5, 1.1]", "[0.5, 1.1], [0.75, 1.6]", "points.narrowest_patch: 0.75 comes after 0.5; the first"),
    (
        "narrowest_patch = [[1.25",
        "narowest_patch = [[1.25",
        "points.narowest_patch: there is no such key; write narrowest",
    ),
    ("[points]", "[weights]", "weights: there is no such key"),
    ('word = "advanced"', 'word = "beginner"', "level 5.word: 'beginner' is the word of another level"),
    ('word = "advanced"', 'word = ""', "level 5.word: it has to be one line of 1 to 60 letters"),
    ('word = "advanced"', "word = 5", "level 5.word: it has to be a text in quotation marks, not 5"),
    ('word = "advanced"\nfrom = 15', 'word = "advanced"\nfrom = 10', "level 5.from: it has to be at least 0.1 above"),
    ('word = "advanced"\nfrom = 15', 'word = "advanced"', "level 5.from: it has to be a number, not nothing"),
    ('word = "beginner"\nfrom = 0', 'word = "beginner"\nfrom = 1', "level 1.from: the first level has to start at 0"),
    ("[points]", "[[level]]\nword = 'x'\nfrom = 15\n[points]", "level 6.from: it has to be at least 0.1 above"),
    (
        'name = "sharp points under 30 degrees"\nfeature = "sharpest_angle"\nat = 30\nafter = ["half-square points '
        '(under 60 degrees)"]',
        'name = "sharp"\nfeature = "sharpest_angle"\nat = 30\nafter = ["half-square points"]',
        "skill 8.after: no skill 'half-square points' stands above; write 'half-square points (under 60 degrees)'",
    ),
    (
        'name = "six matched points or more"\nfeature = "matched_points"\nat = 6\nafter = ["matched points"]',
        'name = "x"\nfeature = "matched_points"\nat = 6\nafter = ["x"]',
        "skill 4.after: no skill 'x' stands above; list that skill further up",
    ),
    (
        'feature = "matched_points"\nat = 6\nafter = ["matched points"]',
        'feature = "matched_points"\nat = 6\nafter = "matched points"',
        "skill 4.after: it has to be names of skills like",
    ),
    (
        'name = "partial seam"\nfeature = "partial"',
        'name = "x"\nfeature = "seams"',
        "there is no feature 'seams'; it can be",
    ),
    ('name = "partial seam"', 'name = "curved seam"', "'curved seam' is the name of another skill"),
    (
        'name = "partial seam"',
        'title = "partial seam"',
        "title: there is no such key; it can only be name, feature, at or after",
    ),
]


@pytest.mark.parametrize(("old", "new", "message"), FAULTS, ids=lambda value: None)
def test_faults_are_named(old, new, message):
    text = old if new is None else changed(old, new)
    with pytest.raises(OptionError) as caught:
        parse_scale(text, source="my-class.toml")
    assert message in str(caught.value)
    assert "my-class.toml" in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("content", "message"),
    [(b"\xff\xfe\x00", "is no text in UTF-8"), (b"#" * 1_000_001, "is larger than 1 MB"), (b"", "level: there have")],
)
def test_files_that_are_no_scale(tmp_path, content, message):
    path = tmp_path / "my-class.toml"
    path.write_bytes(content)
    with pytest.raises(OptionError, match=message):
        read_scale(path)


@pytest.mark.parametrize("path", ["nowhere.toml", ".", "a\0b"])
def test_files_that_cannot_be_read(path):
    with pytest.raises(OptionError, match="cannot be read"):
        read_scale(path)


def test_nested_too_deeply():
    with pytest.raises(OptionError, match="no valid TOML"):
        parse_scale("a = " + "[" * 100_000, source="x")


def test_every_kind_is_found_by_its_key():
    assert list(KIND_OF) == [kind.key for kind in KINDS]


toml_values = st.recursive(
    st.one_of(
        st.integers(-(10**30), 10**30),
        st.floats(),
        st.booleans(),
        st.text(max_size=5),
        st.datetimes(),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.sampled_from(["word", "at", "x"]), inner)
    ),
    max_leaves=8,
)


@given(toml_values, st.sampled_from(["level", "points", "skill", *(f"points.{kind.key}" for kind in KINDS)]))
def test_no_value_anywhere_is_more_than_a_complaint(value, key):
    data = tomllib.loads(TEXT)
    *tables, last = key.split(".")
    table = data
    for name in tables:
        table = table[name]
    table[last] = value
    with contextlib.suppress(OptionError):
        assert scale_of(data, source="x").levels


@given(st.text(max_size=200))
def test_no_text_is_more_than_a_complaint(text):
    with pytest.raises(OptionError):
        parse_scale(text, source="x")


@given(st.integers(0, len(TEXT) - 1), st.characters())
def test_no_single_letter_is_more_than_a_complaint(at, letter):
    with contextlib.suppress(OptionError):
        assert parse_scale(TEXT[:at] + letter + TEXT[at + 1 :], source="x").levels


def test_both_scales_that_come_along_are_whole():
    for name in SCALES:
        scale = named_scale(name)
        assert parse_scale(scale_text(name), source=scale.source) == scale
        assert [curve.key for curve in scale.curves] == [kind.key for kind in KINDS]
        assert scale.paces
        assert scale.skills


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("minutes = 3", "minutes: it has to be a table, written [minutes]"),
        ("[minutes]\ncutting = 3", "minutes.cutting: it has to be a table, written [minutes.cutting]"),
        ("[minutes.cutting]\npatch = 3", "minutes.cutting.patch: there is no such key; write patches"),
        ("[minutes.cutting]\npatches = -1", "minutes.cutting.patches: it has to be from 0 to 1,000, not -1"),
        ('[minutes.""]\npatches = 1', "minutes..name: it has to be one line"),
    ],
)
def test_faults_in_minutes_are_named(text, message):
    before = TEXT[: TEXT.index("# Minutes, for an estimate")]
    with pytest.raises(OptionError, match="my-class") as caught:
        parse_scale(f"{text}\n{before}" if text == "minutes = 3" else f"{before}\n{text}", source="my-class.toml")
    assert message in str(caught.value)


def test_minutes_may_be_left_out():
    assert parse_scale(TEXT[: TEXT.index("# Minutes, for an estimate")], source="x").paces == ()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes of POSIX")
def test_a_scale_may_come_from_a_pipe_but_from_no_device(tmp_path):
    pipe = tmp_path / "scale.toml"
    os.mkfifo(pipe)
    with pytest.raises(OptionError, match="level"):  # nobody writes to it, so it is empty
        read_scale(pipe)
    ours, theirs = os.pipe()
    os.write(theirs, TEXT.encode())
    os.close(theirs)
    assert read_scale(f"/dev/fd/{ours}").levels == default_scale().levels
    os.close(ours)
    for device in ("/dev/zero", "/dev/null"):
        with pytest.raises(OptionError, match="no file"):
            read_scale(device)
    with pytest.raises(OptionError, match="directory"):
        read_scale(tmp_path)
