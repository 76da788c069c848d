"""What is said of files that are no drawings, and which reader a file gets."""

import io
import sys
import zipfile

import ezdxf
import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from seamtree.drawing.read import find_format, parse_drawing, read_drawing
from seamtree.errors import DrawingError, OptionError


def pixels(kind):
    out = io.BytesIO()
    Image.new("RGB", (4, 4)).save(out, kind)
    return out.getvalue()


def zipped(**members):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in members.items():
            archive.writestr(name.replace("__", "/"), content)
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (pixels("PNG"), "pixels (PNG)"),
        (pixels("JPEG"), "pixels (JPEG)"),
        (pixels("GIF"), "pixels (GIF)"),
        (pixels("TIFF"), "pixels (TIFF)"),
        (pixels("BMP"), "pixels (BMP)"),
        (pixels("WEBP"), "pixels (WebP)"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n", "PostScript or EPS"),
        (b"\xc5\xd0\xd3\xc6" + bytes(30), "PostScript or EPS"),
        (b"{\\rtf1\\ansi A1}", "text document (RTF)"),
        (zipped(word__document="<w/>"), "text document (DOCX)"),
        (zipped(mimetype="application/vnd.oasis.opendocument.text"), "text document (ODT)"),
        (zipped(mimetype="application/vnd.oasis.opendocument.graphics"), "ODG file"),
        (b"AC1027" + bytes(30), "DWG file"),
    ],
)
def test_one_line_says_how_to_save_as_what(data, said):
    with pytest.raises(DrawingError) as caught:
        parse_drawing(data, source="block.svg")
    (finding,) = caught.value.findings
    assert finding.code == "not-a-drawing"
    assert said in finding.message
    assert any(word in finding.message for word in ("plain SVG", "DXF.", "PDF file"))
    assert "\n" not in finding.message


def test_text_that_begins_as_a_bitmap_does_is_none():
    with pytest.raises(DrawingError, match="neither SVG, PDF, DXF, GeoJSON nor WKT"):
        find_format(b"BMX bicycles and other words that go on and on and on and on", "note.txt")


def page():
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(720, 720))
    canvas.rect(72, 72, 144, 72)
    canvas.save()
    return out.getvalue()


def cad():
    document = ezdxf.new("R2000", units=1)
    document.modelspace().add_lwpolyline([(0, 0), (4, 0), (4, 4)], close=True)
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode()


@pytest.mark.parametrize("source", ["block.pdf", "block.ai", "block.svg", "-"])
def test_pdf_is_told_by_its_content(source):
    assert find_format(page(), source) == "pdf"
    assert find_format(b"junk before\n" + page(), source) == "pdf"


@pytest.mark.parametrize("source", ["block.dxf", "block.txt", "-"])
@pytest.mark.parametrize("before", [b"", b"999\nsaved by hand\n", b"\xef\xbb\xbf", b"\r\n"])
def test_dxf_is_told_by_its_content(source, before):
    assert find_format(before + cad(), source) == "dxf"
    assert find_format((before + cad()).replace(b"\n", b"\r\n"), source) == "dxf"


def test_pages_are_for_pdf(tmp_path):
    (tmp_path / "block.pdf").write_bytes(page())
    assert len(read_drawing(tmp_path / "block.pdf", pdf_page=1).shapes) == 1
    (tmp_path / "block.dxf").write_bytes(cad())
    with pytest.raises(OptionError, match="is no PDF file"):
        read_drawing(tmp_path / "block.dxf", pdf_page=1)


@pytest.mark.parametrize(("data", "library", "extra"), [(page, "pypdf", "pdf"), (cad, "ezdxf", "dxf")])
def test_what_to_install_is_said_where_the_library_is_missing(monkeypatch, data, library, extra):
    drawn = data()
    for name in [name for name in sys.modules if name.startswith(f"seamtree.drawing.{extra}")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(DrawingError, match=rf'pip install "seamtree\[{extra}\]"') as caught:
        parse_drawing(drawn, source=f"block.{extra}")
    assert caught.value.findings[0].code == "reader-missing"
