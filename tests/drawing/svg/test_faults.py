"""Drawings that cannot be used: every fault is told with its element and what is wrong."""

import contextlib

import pytest

from seamtree.errors import DrawingError, OptionError, SeamtreeError
from seamtree.remedies import WIDTH
from tests.drawing.svg.helps import read

GOOD = '<rect width="5" height="5"/>'


def faults(body, root='width="10in" height="10in" viewBox="0 0 10 10"', **options):
    with pytest.raises(DrawingError) as caught:
        read(body, root, **options)
    return caught.value.findings


@pytest.mark.parametrize(
    ("body", "code", "words"),
    [
        ('<rect id="sail" width="nan" height="4"/>', "bad-number", ["rect 'sail'", "line 1", "width 'nan'"]),
        ('<rect width="1e999" height="4"/>', "bad-number", ["rect 1", "width '1e999'", "not a finite number"]),
        (
            '<rect width="4" height="4" font-size="1e308" stroke="red" stroke-width="1e9em"/>',
            "bad-number",
            ["rect 1", "stroke-width '1e9em'", "not a finite number"],
        ),
        (
            '<g font-size="1e308"><rect width="4" height="4" font-size="1e9em"/></g>',
            "bad-number",
            ["rect 1", "font-size='1e9em' is not a finite number"],
        ),
        (
            '<linearGradient id="a"><stop stop-opacity="1e999"/></linearGradient>'
            '<rect width="4" height="4" fill="url(#a)"/>',
            "bad-number",
            ["rect 1", "cannot be used: stop-opacity='1e999' is not a finite number"],
        ),
        ('<rect width="-1" height="4"/>', "bad-number", ["width '-1'", "negative"]),
        ('<rect width="4foo" height="4"/>', "bad-number", ["unknown unit 'foo'", "mm"]),
        ('<rect width="4 4" height="4"/>', "bad-number", ["width '4 4'", "not a length"]),
        ('<rect x="left" width="4" height="4"/>', "bad-number", ["x 'left'"]),
        ('<rect rx="nan" width="4" height="4"/>', "bad-number", ["rx 'nan'"]),
        ('<circle r="inf"/>', "bad-number", ["circle 1", "r 'inf'"]),
        ('<circle r="-2"/>', "bad-number", ["negative"]),
        ('<ellipse rx="2" ry="NaN"/>', "bad-number", ["ry 'NaN'"]),
        ('<line x2="nan" y2="1" stroke="#000"/>', "bad-number", ["line 1", "x2 'nan'"]),
        ('<polygon points="0,0 1,nan 2,2"/>', "bad-number", ["points '0,0 1,nan 2,2'"]),
        ('<polygon points="0,0 1,1e999 2,2"/>', "bad-number", ["not a finite number"]),
        ('<polyline points="0,0 1,1 2"/>', "bad-points", ["5 numbers"]),
        ('<path d="M0 0L1 nan"/>', "bad-path", ["path 1", "character 8 ('nan')"]),
        ('<path d="M0 0L1 1e999"/>', "bad-path", ["not finite"]),
        ('<path d="M0 0C1 1 2 2"/>', "bad-path", ["4 numbers"]),
        ('<path d="M0 0L1 1 garbage"/>', "bad-path", ["character 10"]),
        ('<path d="M0 0A1e300 1e300 0 0 1 5 0"/>', "bad-number", ["reaches so far out"]),
        ('<path d="M0 0L1e300 1e300 5 0z"/>', "bad-number", ["reaches so far out"]),
        ('<rect width="1e200" height="1e200"/>', "bad-number", ["reaches so far out"]),
        (f'<g transform="scale(nan)">{GOOD}</g>', "bad-transform", ["g 1", "transform 'scale(nan)'"]),
        (f'<g transform="scale(1e999)">{GOOD}</g>', "bad-transform", ["not a finite"]),
        (f'<g id="mast" transform="scale(0)">{GOOD}</g>', "bad-transform", ["g 'mast'", "flattens"]),
        (f'<g transform="scale(1,0)">{GOOD}</g>', "bad-transform", ["flattens"]),
        (f'<g transform="matrix(1 2 2 4 0 0)">{GOOD}</g>', "bad-transform", ["flattens"]),
        (f'<g transform="skewX(1e308) scale(1e308)">{GOOD}</g>', "bad-transform", []),
        (f'<g transform="spin(3)">{GOOD}</g>', "bad-transform", ["unknown function 'spin'"]),
        (f'<g transform="rotate(3) junk">{GOOD}</g>', "bad-transform", ["'junk'"]),
        (f'<g transform="translate(5%)">{GOOD}</g>', "bad-transform", ["unit '%'"]),
        ('<rect width="4" height="4" stroke-width="nan"/>', "bad-number", ["stroke-width='nan'"]),
        ('<rect width="4" height="4" opacity="1e999"/>', "bad-number", ["opacity='1e999'"]),
        ('<rect width="4" height="4" style="fill-opacity:NaN"/>', "bad-number", ["fill-opacity='NaN'"]),
        ('<rect width="4" height="4" stroke-dasharray="1 nan"/>', "bad-number", ["stroke-dasharray"]),
        ('<use href="#gull"/>', "missing-reference", ["use 1", "'#gull'", "does not exist"]),
        ('<use href="birds.svg#gull"/>', "missing-reference", ["'birds.svg#gull'", "outside the file"]),
        ('<g id="a"><use href="#a"/></g>', "use-loop", ["use 1", "'#a'", "contains it again"]),
        ('<use id="u" href="#u"/>', "use-loop", ["use 'u'"]),
        ('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>', "use-loop", []),
        ('<symbol id="s"><use href="#s"/></symbol><use href="#s"/>', "use-loop", []),
        ('<use x="nan" href="#r"/><rect id="r" width="1" height="1"/>', "bad-number", ["use 1", "x 'nan'"]),
        (f'<svg width="-1">{GOOD}</svg>', "bad-number", ["svg 2", "width '-1'", "negative"]),
        (f'<svg viewBox="0 0 5">{GOOD}</svg>', "bad-number", ["viewBox '0 0 5'", "3 numbers"]),
        (f'<svg viewBox="0 0 5 5" preserveAspectRatio="middle">{GOOD}</svg>', "bad-number", ["'middle'"]),
        (f'<g transform="{"scale(1)" * 20_000}">{GOOD}</g>', "bad-transform", ["more than 100,000 characters"]),
        ('<rect style="' + "a:b;" * 30_000 + '"/>', "bad-number", ["more than 100,000 characters"]),
        (GOOD + '<text x="nan" y="2">A</text>', "bad-number", ["text 1", "x 'nan'"]),
        (GOOD + '<text x="1e300" y="2">A</text>', "bad-number", ["reaches so far out"]),
    ],
)
def test_every_fault_names_its_element_and_the_reason(body, code, words):
    findings = faults(body)
    assert {finding.code for finding in findings} == {code}
    for word in [*words, "t.svg"]:
        assert word in findings[0].message


@pytest.mark.parametrize(
    ("root", "code", "words"),
    [
        ('width="0" height="5"', "zero-size", "no size"),
        ('width="5" height="0mm"', "zero-size", "no size"),
        ('viewBox="0 0 0 5"', "zero-size", "no size"),
        ('viewBox="0 0 5 0" width="5in"', "zero-size", "no size"),
        ('width="-5in"', "bad-number", "negative"),
        ('width="5 in"', "bad-number", "not a length"),
        ('width="5furlong"', "bad-number", "unknown unit 'furlong'"),
        ('width="nan"', "bad-number", "not a length"),
        ('height="1e999"', "bad-number", "not a finite number"),
        ('viewBox="0 0 nan 5"', "bad-number", "not a list of numbers"),
        ('viewBox="0 0 1e999 5"', "bad-number", "not a finite number"),
        ('viewBox="0 0 -5 5"', "bad-number", "negative"),
        ('viewBox="0,0,5"', "bad-number", "3 numbers"),
        ('viewBox="0 0 1e-320 1" width="5in" preserveAspectRatio="none"', "bad-number", "cannot be fitted"),
        ('transform="scale(0)"', "bad-transform", "flattens"),
    ],
)
def test_faults_of_the_root(root, code, words):
    (finding,) = faults(GOOD, root)
    assert finding.code == code
    assert words in finding.message
    assert "svg 1" in finding.message


def test_all_faults_are_told_at_once_in_the_order_of_the_file():
    body = '<rect width="nan" height="1"/>\n<use href="#x"/>\n<path d="L"/>' + GOOD + '\n<g transform="x"/>'
    findings = faults(body)
    assert [finding.code for finding in findings] == ["bad-number", "missing-reference", "bad-path", "bad-transform"]
    assert [f"(line {line})" in findings[line - 1].message for line in (1, 2, 3, 4)] == [True] * 4


def test_a_fault_is_told_once_however_often_it_is_copied():
    assert len(faults('<path id="a" d="L"/><use href="#a"/><use href="#a"/>')) == 1


def test_a_flood_of_faults_is_cut_short():
    findings = faults('<path d="L"/>' * 200)
    assert len(findings) == 51
    assert "150 more" in findings[-1].message


def test_long_and_strange_values_are_shortened_in_messages():
    (finding,) = faults('<path id="{}" d="M0 0L1 1\n{}"/>'.format("a" * 500, "x" * 5000))
    assert len(finding.message) < 300
    assert "\n" not in finding.message


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("", ["nothing that is painted"]),
        ("<g/><defs><rect width='5' height='5'/></defs>", ["nothing that is painted"]),
        ('<rect width="5" height="5" fill="none"/>', ["nothing that is painted"]),
        ('<text x="1" y="1">A1</text>', ["only text"]),
        ('<path d="M0 0L5 5" fill="none" stroke="#000" stroke-dasharray="1"/>', ["dashed lines"]),
        ('<rect width="10" height="10" fill="#fff"/>', ["only its page"]),
        ('<rect width="10" height="10" fill="#fff"/><text x="1" y="1">A1</text>', ["its page and text"]),
        ('<image href="x.png" width="5" height="5"/>', ["only images"]),
    ],
)
def test_empty_drawings_say_what_they_hold(body, words):
    for width in (None, 8.0):
        (finding,) = faults(body, width=width)
        assert finding.code == "empty"
        for word in words:
            assert word in finding.message


def test_a_drawing_that_was_wholly_left_out():
    (finding,) = faults(f'<g id="a">{GOOD}</g>', skip_layers=["a"])
    assert finding.code == "empty"
    assert "left out as asked" in finding.message


def test_a_drawing_smaller_than_the_tolerance():
    (finding,) = faults('<rect width=".01" height=".01"/>')
    assert finding.code == "zero-size"
    assert finding.remedies == (WIDTH,)


def test_an_upright_line_cannot_be_made_wide():
    (finding,) = faults('<path d="M1 1V5" stroke="#000"/>', width=8.0)
    assert finding.code == "zero-size"
    assert len(read('<path d="M1 1V5" stroke="#000"/>').shapes) == 1


@pytest.mark.parametrize("width", [0.0, -1.0, float("nan"), float("inf"), 1e9])
def test_senseless_widths(width):
    with pytest.raises(OptionError, match="width"):
        read(GOOD, width=width)


@pytest.mark.parametrize("tolerance", [0.0, -1.0, float("nan"), float("inf"), 1e-9])
def test_senseless_tolerances(tolerance):
    with pytest.raises(OptionError, match="tolerance"):
        read(GOOD, tolerance=tolerance)


@pytest.mark.parametrize(
    "body",
    [
        "<style>" + "@media all{" * 5000 + "</style>",
        '<rect style="' + "a:b;" * 50_000 + '" width="1" height="1"/>',
        '<rect class="' + "a " * 50_000 + '" width="1" height="1"/>',
        '<path d="' + "M0 0" * 50_000 + '"/>',
        '<g transform="' + "scale(1)" * 20_000 + f'">{GOOD}</g>',
        '<g transform="' + "scale(1.1)" * 20_000 + f'">{GOOD}</g>',
        '<rect width="' + "1" * 5000 + '" height="1"/>',
        '<rect fill="' + "url(#a) " * 5000 + '" width="1" height="1"/>',
        '<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/>'
        '<rect fill="url(#a)" width="1" height="1"/>',
        '<clipPath id="c" clip-path="url(#c)"><rect width="1" height="1"/></clipPath><g clip-path="url(#c)">'
        + GOOD
        + "</g>",
        '<clipPath id="c"><use id="u" href="#u"/></clipPath><g clip-path="url(#c)">' + GOOD + "</g>",
    ],
)
def test_odd_and_endless_things_end_in_an_answer_or_an_error_of_ours(body):
    with contextlib.suppress(SeamtreeError):
        read(body)
