import gzip

import pytest

from seamtree.drawing import limits
from seamtree.drawing.svg.read import read_svg
from seamtree.drawing.svg.xml import parse_xml, unpack
from seamtree.errors import DrawingError, LimitError
from tests.drawing.svg.helps import svg

SQUARE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="96" height="96"><rect id="{0}" width="48" height="48"/></svg>'
)


def fault(data: bytes) -> str:
    with pytest.raises(DrawingError) as caught:
        read_svg(data, source="t.svg")
    (finding,) = caught.value.findings
    assert "t.svg" in finding.message
    return finding.code


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"   ",
        b"a drawing",
        b"<svg",
        b"<svg><rect></svg>",
        b'{"type": "FeatureCollection"}',
        b"\x89PNG\r\n\x1a\n\x00\x00",
        b"\xff\xfe",
        b'<svg xmlns="http://www.w3.org/2000/svg"><x:rect/></svg>',
        b'<svg xmlns="http://www.w3.org/2000/svg" a="1" a="2"/>',
        b"<svg>&undefined;</svg>",
        b"<svg>\xff\xff</svg>",
        b'<?xml version="1.0" encoding="martian"?><svg/>',
        b'<?xml version="1.0" encoding="utf-7"?><svg/>',
        b'<?xml version="1.0" encoding="shift_jis"?><svg/>',
    ],
)
def test_what_is_not_xml_is_told(data):
    assert fault(data) == "not-xml"


def test_the_line_of_the_fault_is_named():
    with pytest.raises(DrawingError, match="line 3"):
        read_svg(b"<svg>\n<g>\n</svg>\n", source="t.svg")


@pytest.mark.parametrize("data", [b"<html/>", b'<svg xmlns="http://example.org/other"/>', b"<kml/>"])
def test_other_xml_is_not_svg(data):
    assert fault(data) == "not-svg"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "iso-8859-1", "windows-1252", "us-ascii"])
def test_encodings(encoding):
    name = "lantern" if encoding == "us-ascii" else "höhle"
    declared = "utf-8" if encoding == "utf-8-sig" else encoding
    text = f'<?xml version="1.0" encoding="{declared}"?>' + SQUARE.format(name)
    (shape,) = read_svg(text.encode(encoding), source="t.svg").shapes
    assert shape.name == name


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_with_its_byte_order_mark(encoding):
    data = ("\ufeff" + SQUARE.format("höhle")).encode(encoding)
    assert read_svg(data, source="t.svg").shapes[0].name == "höhle"


@pytest.mark.parametrize("declared", ["utf-16", "UTF-16", "utf-16le", "UCS-2"])
def test_a_declaration_that_a_program_left_as_it_was_does_not_count(declared):
    # XML 1.0, appendix F: the bytes of the declaration itself show the width of the characters.
    text = f'<?xml version="1.0" encoding="{declared}"?>' + SQUARE.format("höhle")
    assert read_svg(text.encode(), source="t.svg").shapes[0].name == "höhle"


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16_that_declares_itself_utf_8(encoding):
    text = '<?xml version="1.0" encoding="utf-8"?>' + SQUARE.format("höhle")
    assert read_svg(text.encode(encoding), source="t.svg").shapes[0].name == "höhle"
    assert read_svg(gzip.compress(text.encode(encoding)), source="t.svgz").shapes[0].name == "höhle"


def test_packed_drawings():
    assert read_svg(gzip.compress(SQUARE.format("a").encode()), source="t.svgz").shapes[0].name == "a"


def test_packed_drawings_that_blow_up(monkeypatch):
    packed = gzip.compress(SQUARE.format("a" * 10_000).encode())
    monkeypatch.setattr(limits, "MAX_BYTES", 5_000)
    assert len(packed) < 5_000
    with pytest.raises(LimitError, match="at most 5,000 bytes"):
        read_svg(packed, source="t.svgz")


@pytest.mark.parametrize("cut", [3, 20, -4])
def test_packed_drawings_that_are_damaged(cut):
    assert fault(gzip.compress(SQUARE.format("a").encode())[:cut]) == "not-xml"


def test_packed_garbage():
    with pytest.raises(DrawingError, match="packed"):
        unpack(b"\x1f\x8b" + b"garbage" * 5, "t.svg")


def test_a_harmless_document_type_with_entities_passes():
    data = b"""<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" [
        <!ENTITY ns_svg "http://www.w3.org/2000/svg">
        <!ENTITY blue "fill:#0000ff">
        <!ATTLIST svg xmlns:a CDATA #FIXED "http://ns.example.org/">
        ]><svg xmlns="&ns_svg;" width="96" height="96"><rect style="&blue;" width="5" height="5"/></svg>"""
    assert read_svg(data, source="t.svg").shapes[0].fill == "#0000ff"


@pytest.mark.parametrize(
    "declaration",
    [
        '<!ENTITY x SYSTEM "file:///etc/passwd">',
        '<!ENTITY x SYSTEM "http://example.org/x">',
        '<!ENTITY x PUBLIC "-//X//X" "http://example.org/x">',
        '<!ENTITY % x SYSTEM "http://example.org/x.dtd"> %x;',
        '<!ENTITY x SYSTEM "x.gif" NDATA gif>',
    ],
)
def test_external_entities_are_refused(declaration):
    use = "" if "%" in declaration or "NDATA" in declaration else "&x;"
    data = f"<!DOCTYPE svg [<!NOTATION gif SYSTEM 'gif'>{declaration}]><svg>{use}</svg>"
    assert fault(data.encode()) == "external-entity"


def laughs(levels: int, times: int) -> str:
    return "".join(laugh_lines(levels, times))


def laughs_last_first(levels: int, times: int) -> str:
    return "".join(reversed(laugh_lines(levels, times)))


def laugh_lines(levels: int, times: int) -> list[str]:
    return ['<!ENTITY l0 "ha">'] + [f'<!ENTITY l{i} "{f"&l{i - 1};" * times}">' for i in range(1, levels + 1)]


@pytest.mark.parametrize(
    "data",
    [
        f"<!DOCTYPE svg [{laughs(9, 10)}]><svg>&l9;</svg>",
        f'<!DOCTYPE svg [{laughs(9, 10)}]><svg id="&l9;"/>',
        f"<!DOCTYPE svg [{laughs_last_first(1000, 1)}]><svg>&l1000;</svg>",
        f"<!DOCTYPE svg [{laughs_last_first(9, 10)}]><svg>&l9;</svg>",
        f'<!DOCTYPE svg [<!ENTITY a "{"a" * 10_000}">]><svg>{"&a;" * 200}</svg>',
        f'<!DOCTYPE svg [<!ENTITY a "{"a" * 10_000}">]><svg id="{"&a;" * 200}"/>',
        '<!DOCTYPE svg [<!ENTITY a "&b;"><!ENTITY b "&a;">]><svg>&a;</svg>',
        '<!DOCTYPE svg [<!ENTITY a "&a;">]><svg>&a;</svg>',
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_entity_bombs_are_refused(data, encoding):
    assert fault(data.encode(encoding)) == "entity-bomb"


def test_a_bomb_in_the_default_of_an_attribute():
    data = f'<!DOCTYPE svg [{laughs(8, 10)}<!ATTLIST svg id CDATA "&l8;">]><svg/>'
    assert fault(data.encode()) == "entity-bomb"


def test_a_bomb_behind_a_parameter_entity():
    # The parser does not follow parameter entities, nor does it take in what is declared after one.
    data = (
        f"""<!DOCTYPE svg [<!ENTITY % a "<!ENTITY x 'ha'>">%a;<!ENTITY b "{"b" * 9000}">]><svg>{"&b;" * 200}</svg>"""
    )
    assert fault(data.encode()) in {"entity-bomb", "not-xml"}


def test_a_harmless_chain_of_entities_passes():
    data = f"<!DOCTYPE svg [{laughs(10, 1)}]>" + SQUARE.format("&l10;")
    assert read_svg(data.encode(), source="t.svg").shapes[0].name == "ha"


def test_entities_that_a_foreign_document_type_may_define_do_not_vanish():
    head = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    assert fault(f'{head}<svg><path d="&hull;"/></svg>'.encode()) == "not-xml"
    assert fault(f"{head}<svg><text>&hull;</text></svg>".encode()) == "not-xml"
    harmless = SQUARE.format("a").replace("</svg>", "<!-- &nbsp; --><desc><![CDATA[&copy;]]></desc></svg>")
    assert read_svg((head + harmless).encode(), source="t.svg").shapes


def test_defaults_of_a_document_type_do_not_multiply():
    data = f'<!DOCTYPE svg [<!ATTLIST g id CDATA "{"a" * 5000}">]><svg>{"<g/>" * 5}</svg>'
    root = parse_xml(data.encode(), "t.svg").root
    assert all(not child.attributes for child in root.children)


def test_the_tree_keeps_text_order_and_lines():
    root = parse_xml(b"<svg>\n one <a>two</a> three <!-- no --> four\n<b/></svg>", "t.svg").root
    assert root.text.split() == ["one"]
    assert [(child.tag, child.text, child.tail.split(), child.line) for child in root.children] == [
        ("a", "two", ["three", "four"], 2),
        ("b", "", [], 3),
    ]
    assert [element.tag for element in root.walk()] == ["svg", "a", "b"]


def test_prefixed_svg_is_svg():
    data = b'<s:svg xmlns:s="http://www.w3.org/2000/svg" width="9" height="9"><s:rect width="5" height="5"/></s:svg>'
    assert len(read_svg(data, source="t.svg").shapes) == 1


def test_elements_of_other_vocabularies_are_no_shapes():
    data = svg('<o:rect xmlns:o="http://example.org/" width="5" height="5"/><rect width="2" height="2"/>')
    assert len(read_svg(data, source="t.svg").shapes) == 1


def test_svg_without_its_namespace_is_read():
    assert read_svg(b'<svg width="9" height="9"><rect width="5" height="5"/></svg>', source="t.svg").shapes
