import pytest

from seamtree.drawing import limits
from seamtree.drawing.svg.read import read_svg
from seamtree.errors import LimitError
from tests.drawing.svg.helps import read, svg


def test_a_hundred_megabytes_are_refused_with_the_limit_named():
    with pytest.raises(LimitError, match=r"harbour\.svg has 100,000,000 bytes; at most 50,000,000 bytes") as caught:
        limits.check_size(bytes(100_000_000), "harbour.svg")
    assert [finding.code for finding in caught.value.findings] == ["too-large"]
    assert caught.value.source == "harbour.svg"


def test_fifty_megabytes_pass():
    limits.check_size(bytes(limits.MAX_BYTES), "harbour.svg")


def test_the_reader_checks_the_size():
    with pytest.raises(LimitError, match="50,000,000 bytes"):
        read_svg(bytes(limits.MAX_BYTES + 1), source="t.svg")


@pytest.mark.parametrize(
    ("name", "value", "body", "message"),
    [
        ("MAX_POINTS", 50, '<circle r="5"/>', "more than 50 points"),
        ("MAX_SHAPES", 2, '<rect width="1" height="1"/>' * 3, "more than 2 shapes"),
        ("MAX_ELEMENTS", 5, "<g/>" * 5, "more than 5 elements"),
        ("MAX_DEPTH", 4, "<g><g><g><g/></g></g></g>", "nested more than 4 deep"),
        (
            "MAX_POINTS",
            20,
            '<path id="a" d="M0 0h1v1h1v1h1v1"/>' + '<use href="#a"/>' * 3,
            "more than 20 lines and curves",
        ),
        (
            "MAX_POINTS",
            20,
            '<path id="a" d="M0 0h1v1h1v1h1"/><clipPath id="c"><use href="#a"/></clipPath>'
            + '<g clip-path="url(#c)"/>' * 5,
            "more than 20 lines and curves",
        ),
        ("MAX_POINTS", 20, "<text>" + "tide" * 9 + "</text>", "more than 20 lines and curves"),
        ("MAX_POINTS", 20, '<path d="M0 0' + "L1 1" * 30 + '"/>', "more than 20 lines and curves in one path"),
        ("MAX_OUTLINE_TEXT", 20, '<path d="M0 0L1 1 2 2 3 3 4 4 5 5"/>', "more than 20 characters in one path"),
        ("MAX_OUTLINE_TEXT", 20, '<polygon points="0 0 1 1 2 1 3 3 4 4 5 5"/>', "more than 20 characters"),
        ("MAX_STYLE_TEXT", 20, "<style>rect{fill:red}</style>" * 2, "more than 20 characters"),
        ("MAX_USES", 2, '<rect id="a" width="1" height="1"/>' + '<use href="#a"/>' * 3, "more than 2 references"),
        (
            "MAX_RULE_TRIALS",
            10,
            "<style>" + "rect{fill:red}" * 6 + "</style>" + '<rect width="1" height="1"/>' * 2,
            "more than 10 comparisons",
        ),
    ],
)
def test_each_limit_is_named(monkeypatch, name, value, body, message):
    assert read(body + '<path d="M0 0h1v1z"/>').shapes
    monkeypatch.setattr(limits, name, value)
    with pytest.raises(LimitError, match=message) as caught:
        read(body + '<path d="M0 0h1v1z"/>')
    assert caught.value.findings[0].code == "too-large"


def test_deep_groups_up_to_the_limit_are_read():
    depth = limits.MAX_DEPTH - 2
    assert len(read("<g>" * depth + '<rect width="1" height="1"/>' + "</g>" * depth).shapes) == 1


def test_deep_groups_beyond_the_limit_are_refused_without_recursion():
    with pytest.raises(LimitError, match="nested more than 256 deep"):
        read_svg(svg("<g>" * 100_000 + "</g>" * 100_000), source="t.svg")


def test_a_drawing_out_of_all_proportion_is_refused():
    with pytest.raises(LimitError, match="with `width`"):
        read('<rect width="1e7" height="1"/>')


def test_uses_that_double_each_other_are_refused():
    groups = "".join(f'<g id="g{i}"><use href="#g{i + 1}"/><use href="#g{i + 1}"/></g>' for i in range(30))
    with pytest.raises(LimitError, match="references"):
        read(groups + '<rect id="g30" width="1" height="1"/>')
