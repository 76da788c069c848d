"""PDF pages as drawings. Sections named are those of ISO 32000-1:2008."""

import math
import zlib
from io import BytesIO
from pathlib import Path

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.pdfgen.canvas import Canvas

from seamtree.drawing import limits
from seamtree.drawing.pdf.read import read_pdf
from seamtree.errors import DrawingError, LimitError, OptionError, SeamtreeError
from tests.drawing.answers import answers, answers_of_sample
from tests.drawing.pdf.helps import pdf, read, stream

FILES = Path(__file__).parent / "files"
SQUARES = "1 0 0 rg 0 0 360 720 re f 0 0 1 rg 360 0 360 720 re f"


def box(shape):
    places = [point for track in shape.tracks for point in track.points]
    xs, ys = zip(*places, strict=True)
    return tuple(round(value, 4) + 0.0 for value in (min(xs), min(ys), max(xs), max(ys)))


def codes(drawing):
    return [note.code for note in drawing.notes]


@pytest.mark.parametrize("path", sorted(FILES.glob("*.pdf")), ids=lambda path: path.stem)
def test_samples_of_other_programs_read_as_their_svg(path):
    name, program = path.stem.rsplit("-", 1)
    expected, found = answers_of_sample(name), answers(path)
    assert found == expected, program


def test_repacked_file_reads_the_same():
    """Object streams and cross-reference streams (7.5.7, 7.5.8), as a third library writes them."""
    path = FILES / "dinghy-cairosvg.pdf"
    writer = pypdf.PdfWriter(clone_from=path)
    writer.compress_identical_objects()
    out = BytesIO()
    writer.write(out)
    again = read_pdf(out.getvalue(), source="t.pdf")
    first = read_pdf(path.read_bytes(), source="t.pdf")
    assert again.shapes == first.shapes


def test_size_and_direction():
    left, right = read(SQUARES).shapes
    assert (box(left), left.fill) == ((0, 0, 5, 10), "#ff0000")
    assert (box(right), right.fill) == ((5, 0, 10, 10), "#0000ff")


@pytest.mark.parametrize(
    ("turn", "expected"),
    [(90, (0, 0, 10, 5)), (180, (5, 0, 10, 10)), (270, (0, 5, 10, 10)), (-90, (0, 5, 10, 10)), (360, (0, 0, 5, 10))],
)
def test_turned_pages(turn, expected):
    """Rotate turns the page clockwise (7.7.3.3)."""
    assert box(read(SQUARES, page=f"/Rotate {turn}").shapes[0]) == expected


def test_crop_box_and_user_unit():
    """The crop box is what is seen, UserUnit its scale (14.11.2, 7.7.3.3)."""
    drawing = read(SQUARES, page="/CropBox [72 72 720 720] /UserUnit 2")
    assert box(drawing.shapes[0]) == (-2, 0, 8, 20)


def test_frames_nest():
    drawing = read("q 2 0 0 2 72 72 cm q 0 1 -1 0 0 0 cm 0 0 72 36 re f Q 0 0 36 36 re S Q 0 0 72 72 re f")
    assert [box(shape) for shape in drawing.shapes] == [(0, 7, 1, 9), (1, 8, 2, 9), (0, 9, 1, 10)]


def test_curves_are_curves():
    """A circle of four Bézier curves (8.5.2.2; Goldapp 1991: largest error 0.03 % of the radius)."""
    k = 0.5522847498 * 216
    quarter = [(576, 360 + k, 360 + k, 576, 360, 576), (360 - k, 576, 144, 360 + k, 144, 360)]
    other = [(144, 360 - k, 360 - k, 144, 360, 144), (360 + k, 144, 576, 360 - k, 576, 360)]
    content = "576 360 m " + " ".join(" ".join(map(str, curve)) + " c" for curve in quarter + other) + " h f"
    (shape,) = read(content).shapes
    (track,) = shape.tracks
    assert set(track.curves) == {1, 2, 3, 4}
    assert all(abs(math.dist(point, (5, 5)) - 3) < 0.002 for point in track.points)


def test_short_curves():
    """`v` begins and `y` ends with a control point at its end (8.5.2.2)."""
    long = read("72 72 m 72 72 300 400 600 72 c 300 400 72 200 72 200 c h f")
    assert read("72 72 m 300 400 600 72 v 300 400 72 200 y h f").shapes == long.shapes


@pytest.mark.parametrize(
    ("how", "stroked", "filled", "closed"),
    [
        ("S", True, False, False),
        ("s", True, False, True),
        ("f", False, True, True),
        ("F", False, True, True),
        ("f*", False, True, True),
        ("B", True, True, True),
        ("b*", True, True, True),
    ],
)
def test_ways_to_paint(how, stroked, filled, closed):
    (shape,) = read(f"1 0 0 rg 72 72 m 300 400 l 600 72 l {how}").shapes
    assert (shape.stroked, shape.fill is not None, shape.tracks[0].closed) == (stroked, filled, closed)
    assert shape.evenodd == how.endswith("*")


def test_unpainted_path_is_nothing():
    drawing = read(f"0 0 100 100 re n {SQUARES}")
    assert len(drawing.shapes) == 2


@pytest.mark.parametrize(
    ("colour", "expected"),
    [
        ("0.2 g", "#333333"),
        ("0.2 0.4 0.6 rg", "#336699"),
        ("0 1 1 0.2 k", "#cc0000"),
        ("/DeviceCMYK cs 1 0 0 0 sc", "#00ffff"),
        ("/DeviceRGB cs", "#000000"),
        ("/Icc cs 0.2 0.4 0.6 scn", "#336699"),
        ("/Idx cs 1 sc", "#336699"),
        ("/Spot cs 1 scn", "#cc3300"),
        ("/Spot cs 0.5 scn", "#e69980"),
        ("/Program cs 1 scn", "Harbour-red-100"),
        ("/Sampled cs 0.5 scn", "#800000"),
        ("/Lab cs 100 0 0 scn", "#ffffff"),
    ],
)
def test_colours(colour, expected):
    """Device spaces 8.6.4 and 10.3, ICC profiles 8.6.5.5, tables 8.6.6.3, inks 8.6.6.4."""
    spaces = (
        "/ColorSpace << /Icc [/ICCBased 5 0 R] /Idx [/Indexed /DeviceRGB 1 <000000336699>]"
        " /Spot [/Separation /Red /DeviceRGB << /FunctionType 2 /Domain [0 1] /C0 [1 1 1] /C1 [0.8 0.2 0] /N 1 >>]"
        " /Program [/Separation /Harbour#20red /DeviceRGB 6 0 R] /Sampled [/Separation /Red /DeviceRGB 7 0 R]"
        " /Lab [/Lab << /WhitePoint [0.9505 1 1.089] >>] >>"
    )
    table = "/FunctionType 0 /Domain [0 1] /Range [0 1 0 1 0 1] /Size [2] /BitsPerSample 8 /Filter /ASCIIHexDecode"
    objects = (
        stream("/N 3", ""),
        stream("/FunctionType 4 /Domain [0 1] /Range [0 1 0 1 0 1]", "{ dup dup }"),
        stream(table, "000000 ff0000>"),
    )
    drawing = read(f"{colour} 0 0 360 720 re f", resources=spaces, objects=objects)
    assert drawing.shapes[0].fill == expected


def test_gradients_and_patterns_are_fabrics():
    """Shading patterns and tiles (8.7): equal ones are one fabric, wherever they begin."""
    function = "<< /FunctionType 2 /Domain [0 1] /C0 [1 0 0] /C1 [0 0 1] /N 1 >>"
    shade = f"<< /ShadingType 2 /ColorSpace /DeviceRGB /Coords [{{}} 0 9 9] /Function {function} >>"
    resources = (
        f"/Pattern << /A << /PatternType 2 /Shading {shade.format(0)} >> /B << /PatternType 2 /Shading"
        f" {shade.format(7)} >> /T 5 0 R >> /Shading << /S {shade.format(3)} >>"
    )
    tile = stream("/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9 /Resources << >>", "")
    content = (
        "/Pattern cs /A scn 0 0 180 720 re f /B scn 180 0 180 720 re f /T scn 360 0 180 720 re f "
        "540 0 180 720 re W n /S sh"
    )
    drawing = read(content, resources=resources, objects=(tile,))
    first, second, tiled, shaded = drawing.shapes
    assert first.fill == second.fill == shaded.fill
    assert first.fill.startswith("gradient-")
    assert tiled.fill.startswith("pattern-")
    assert box(shaded) == (7.5, 0, 10, 10)


@pytest.mark.parametrize(
    ("mode", "halves"),
    [("/Normal", 2), ("/Compatible", 2), ("/Multiply", 0), ("/NoImal", 2), ("[/Swell /Multiply]", 0), ("[]", 2)],
)
def test_blend_modes_that_are_not_known_are_normal(mode, halves):
    """Of several the first that is known counts (11.3.5, table 58)."""
    content = f"0 1 0 rg 0 0 720 720 re f /G gs {SQUARES}"
    drawing = read(content, resources=f"/ExtGState << /G << /BM {mode} >> >>")
    assert len(drawing.shapes) == 1 + halves


def test_dashes_are_markings():
    drawing = read(f"{SQUARES} [6 3] 0 d 72 72 m 300 72 l S [] 0 d 0 360 m 720 360 l S")
    assert len(drawing.markings) == 1
    assert len(drawing.shapes) == 3


def test_lines_without_width_are_painted():
    """A line of width 0 is the thinnest line (8.4.3.2)."""
    (shape,) = read("0 w 72 72 m 300 300 l S").shapes
    assert shape.stroked


def test_form_is_painted_where_it_stands():
    """Forms with a matrix and resources of their own (8.10)."""
    form = stream("/Type /XObject /Subtype /Form /BBox [0 0 100 100] /Matrix [2 0 0 2 0 0]", "0 0 36 36 re f")
    drawing = read("1 0 0 rg q 1 0 0 1 72 72 cm /F Do Q /F Do", resources="/XObject << /F 5 0 R >>", objects=(form,))
    assert [box(shape) for shape in drawing.shapes] == [(1, 8, 2, 9), (0, 9, 1, 10)]
    assert {shape.fill for shape in drawing.shapes} == {"#ff0000"}


def test_form_in_itself_is_a_fault():
    form = stream("/Subtype /Form /BBox [0 0 100 100] /Resources << /XObject << /F 5 0 R >> >>", "/F Do")
    with pytest.raises(DrawingError, match="holds itself"):
        read("/F Do", resources="/XObject << /F 5 0 R >>", objects=(form,))


def test_many_forms_in_forms_are_refused(monkeypatch):
    monkeypatch.setattr(limits, "MAX_USES", 1_000)
    nested = tuple(
        stream(f"/Subtype /Form /BBox [0 0 9 9] /Resources << /XObject << /F {6 + k} 0 R >> >>", "/F Do " * 20)
        for k in range(5)
    )
    last = stream("/Subtype /Form /BBox [0 0 9 9]", "0 0 1 1 re f")
    with pytest.raises(LimitError, match="references"):
        read("/F Do", resources="/XObject << /F 5 0 R >>", objects=(*nested, last))


def test_layers():
    """Optional content (8.11): hidden layers are not painted, shown ones can be left out by name."""
    groups = ("<< /Type /OCG /Name (Patches) >>", "<< /Type /OCG /Name (Sketch) >>")
    content = f"/OC /P BDC {SQUARES} EMC /OC /S BDC 0 1 0 rg 72 72 72 72 re f EMC"
    how = {
        "resources": "/Properties << /P 5 0 R /S 6 0 R >>",
        "objects": groups,
        "catalog": "/OCProperties << /OCGs [5 0 R 6 0 R] /D << /OFF [6 0 R] >> >>",
    }
    assert len(read(content, **how).shapes) == 2
    shown = pdf(content, **{**how, "catalog": ""})
    assert len(read_pdf(shown, source="t.pdf").shapes) == 3
    assert len(read_pdf(shown, source="t.pdf", skip_layers=["Sketch"]).shapes) == 2
    with pytest.raises(OptionError, match="Groups with names: 'Patches', 'Sketch'"):
        read_pdf(shown, source="t.pdf", skip_layers=["Tide"])


def test_clip_that_cuts_is_told_and_one_round_the_page_is_not():
    """Clipping paths (8.5.4)."""
    assert codes(read(f"-9 -9 900 900 re W n {SQUARES}")) == []
    assert codes(read(f"q 100 100 200 200 re W n {SQUARES} Q")).count("clip-ignored") == 2


def test_images_are_told():
    image = stream("/Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceGray", "x")
    drawing = read(f"{SQUARES} /I Do", resources="/XObject << /I 5 0 R >>", objects=(image,))
    assert codes(drawing) == ["image-left-out"]
    inline = read(f"{SQUARES} BI /W 1 /H 1 /BPC 8 /CS /G ID x EI")
    assert codes(inline) == ["image-left-out"]
    with pytest.raises(DrawingError, match="only images"):
        read("/I Do", resources="/XObject << /I 5 0 R >>", objects=(image,))


FONT = "/Font << /F << /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >> >>"


@pytest.mark.parametrize(
    ("shown", "labels"),
    [
        ("/F 20 Tf 100 200 Td (A12) Tj", ["A12"]),
        ("/F 20 Tf 100 200 Td [(A) -20 (1) 15 (2)] TJ", ["A12"]),
        ("/F 20 Tf 100 200 Td [(A1) 7688 (A2)] TJ", ["A1", "A2"]),
        ("/F 20 Tf 100 200 Td [(red) -300 (one)] TJ", ["red one"]),
        ("/F 20 Tf 100 200 Td (A) Tj (1) Tj", ["A1"]),
        ("/F 20 Tf 1 0 0 1 100 200 Tm (A) Tj 1 0 0 1 113.4 200 Tm (1) Tj", ["A1"]),
        ("/F 20 Tf 22 TL 100 200 Td (A1) Tj (B2) '", ["A1", "B2"]),
        ("/F 20 Tf 3 Tr 100 200 Td (A12) Tj", []),
        ("/F 20 Tf 0 1 -1 0 100 200 Tm (A1) Tj", ["A1"]),
    ],
)
def test_text(shown, labels):
    """Text operators (9.4): what stands together is one label, what is far apart are two."""
    drawing = read(f"{SQUARES} 0 g BT {shown} ET", resources=FONT)
    assert [label.text for label in drawing.labels] == labels


def test_label_sits_in_the_middle_of_its_text():
    """Widths of Helvetica: A is 667, 1 is 556 thousandths wide (Adobe's font metrics)."""
    (label,) = read(f"{SQUARES} 0 g BT /F 72 Tf 144 360 Td (A1) Tj ET", resources=FONT).labels
    assert label.at[0] == pytest.approx(2 + (0.667 + 0.556) / 2, abs=0.01)
    assert label.at[1] == pytest.approx(5 - 0.35, abs=0.01)


def test_letters_that_the_file_does_not_tell_are_counted():
    font = (
        "/Font << /F << /Type /Font /Subtype /Type0 /BaseFont /X /Encoding /Identity-H /DescendantFonts [<< >>] >> >>"
    )
    drawing = read(f"{SQUARES} BT /F 20 Tf 100 200 Td <00010002> Tj ET", resources=font)
    assert drawing.labels == ()
    assert codes(drawing) == ["text-left-out"]


def two_pages():
    out = BytesIO()
    canvas = Canvas(out, pagesize=(720, 720))
    canvas.rect(72, 72, 144, 72)
    canvas.showPage()
    canvas.rect(72, 72, 288, 72)
    canvas.save()
    return out.getvalue()


def test_pages():
    first = read_pdf(two_pages(), source="t.pdf")
    assert (box(first.shapes[0]), codes(first)) == ((1, 8, 3, 9), ["other-pages"])
    second = read_pdf(two_pages(), source="t.pdf", pdf_page=2)
    assert (box(second.shapes[0]), codes(second)) == ((1, 8, 5, 9), [])
    with pytest.raises(OptionError, match="has 2 pages, so there is no page 3"):
        read_pdf(two_pages(), source="t.pdf", pdf_page=3)


def test_locked_file():
    writer = pypdf.PdfWriter(clone_from=BytesIO(pdf(SQUARES)))
    writer.encrypt("tide", algorithm="RC4-128")
    out = BytesIO()
    writer.write(out)
    with pytest.raises(DrawingError, match="locked with a password"):
        read_pdf(out.getvalue(), source="t.pdf")


def test_remarks_are_told():
    note = "/Annots [<< /Type /Annot /Subtype /Square /Rect [0 0 9 9] /AP << /N 5 0 R >> >>]"
    assert codes(read(SQUARES, page=note, objects=(stream("/Subtype /Form /BBox [0 0 9 9]", ""),))) == [
        "element-left-out"
    ]


@pytest.mark.parametrize(
    "content",
    [
        "0 0 360 re f",
        "0 0 360 720 re wide",
        "(A) 0 360 720 re f",
        "300 400 l S",
        "/X Do",
        "/X gs",
        "/X cs",
        "0 g 1 0 0 sc 0 0 9 9 re f",
        "<< /A 0 0 9 9 re f",
        "[ 3 0 d",
        "0 0 1e400 9 re f",
        "0 0 99999999999 9 re f",
    ],
)
def test_contents_that_make_no_sense_are_refused(content):
    with pytest.raises(DrawingError) as caught:
        read(f"{SQUARES} {content}")
    assert {finding.code for finding in caught.value.findings} <= {"damaged-file", "bad-number"}


def test_what_later_versions_add_is_passed_over():
    """Between BX and EX stands what a reader need not know (7.8.2)."""
    assert len(read(f"BX 1 2 future EX {SQUARES}").shapes) == 2


def test_packed_contents_must_be_whole():
    """The check sum of packed data (RFC 1950) holds, or the page is refused: never a part of the patches."""
    content = " ".join(f"0 0 {k} rg {9 * k} 0 9 720 re f" for k in range(80)).encode()
    whole = pdf(content, packed=True)
    assert len(read_pdf(whole, source="t.pdf").shapes) == 80
    start = whole.index(b"stream\n") + 7
    end = whole.index(b"\nendstream")
    for place in range(start, end, 5):
        with pytest.raises(DrawingError):
            read_pdf(whole[:place] + bytes([whole[place] ^ 0x10]) + whole[place + 1 :], source="t.pdf")


def test_contents_that_blow_up_are_refused(monkeypatch):
    monkeypatch.setattr(limits, "MAX_BYTES", 100_000)
    assert read_pdf(pdf(b" " * 99_000 + b"0 0 99 99 re f", packed=True), source="t.pdf").shapes
    with pytest.raises(LimitError, match="more than 100,000 bytes unpacked"):
        read_pdf(pdf(b" " * 100_001, packed=True), source="t.pdf")
    twice = zlib.compress(zlib.compress(b" " * 100_001))
    bomb = pdf(b"").replace(
        b"<< /Length 0 >>\nstream\n", b"<< /Filter [/FlateDecode /FlateDecode] /Length %d >>\nstream\n" % len(twice)
    )
    with pytest.raises(DrawingError):
        read_pdf(bomb.replace(b"stream\n\nendstream", b"stream\n" + twice + b"\nendstream"), source="t.pdf")


def read_or_refused(data):
    """Return the shapes of a file, None when it is refused."""
    try:
        return read_pdf(data, source="t.pdf").shapes
    except SeamtreeError as error:
        assert str(error)  # noqa: PT017 - what is said is checked wherever it is refused
        return None


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.9, 0.97])
def test_files_that_end_early(share):
    """The tables of a file are at its end and can be made again from the rest; its contents cannot."""
    for path in sorted(FILES.glob("dinghy*.pdf")):
        data = path.read_bytes()
        found = read_or_refused(data[: int(share * len(data))])
        assert found is None or found == read_or_refused(data)
        assert found is None or share > 0.5


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(FILES.glob("dinghy*.pdf"))), st.data())
def test_any_changed_bytes(path, draw):
    data = bytearray(path.read_bytes())
    for _ in range(draw.draw(st.integers(1, 4))):
        data[draw.draw(st.integers(0, len(data) - 1))] = draw.draw(st.integers(0, 255))
    shapes = read_or_refused(bytes(data))
    assert shapes is None or shapes


def test_nothing_is_said_beside_the_answer(capfd):
    broken = pdf(SQUARES).replace(b"startxref\n", b"startxref\n9")
    drawing = read_pdf(broken, source="t.pdf")
    assert (len(drawing.shapes), codes(drawing)) == (2, ["mended-file"])
    assert capfd.readouterr() == ("", "")
