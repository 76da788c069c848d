"""What the benchmarks measure with: other ways to the fewest units, exponents, plots."""

import xml.etree.ElementTree as ET

import pytest
from benchmarks.alternatives import constraint_model, parts_program, plain_recursion
from benchmarks.families import lines_across, partly_split_squares, square_grid, straight_cuts
from benchmarks.measure import about, measure
from benchmarks.plot import Series, log_plot
from benchmarks.scale import Row, exponent

from seamtree.block.build import block_from_polygons


@pytest.mark.parametrize("relaxed", [False, True])
@pytest.mark.parametrize(
    ("polygons", "tolerance"),
    [
        (square_grid(1, 3), 0.02),
        (square_grid(4, 3), 0.02),
        (straight_cuts(30, 2), 0.02),
        (lines_across(7, 1), 1e-4),
        (partly_split_squares(3, 3, 14, 1), 0.02),
    ],
)
def test_the_integer_program_and_its_relaxation_have_the_optimum_of_the_recursion(polygons, tolerance, relaxed):
    block = block_from_polygons(polygons, tolerance=tolerance)
    assert parts_program(block, seconds=20, relaxed=relaxed) == pytest.approx(plain_recursion(block)[0], abs=1e-6)


def test_the_constraint_model_has_it_too():
    assert constraint_model(block_from_polygons(square_grid(4, 3)), seconds=20) == 3


def test_a_graph_with_too_many_parts_is_left():
    assert parts_program(block_from_polygons(square_grid(4, 4)), seconds=20, limit=10) is None


def test_the_exponent_of_a_power_is_that_power():
    rows = [Row("", "", n, 0.0, n**1.5, 0.0, 0.0, 0.0, 1, 1, True) for n in (10, 30, 200, 4000)]
    assert exponent(rows) == pytest.approx(1.5)


def test_a_plot_has_a_line_and_a_name_for_each_series():
    text = log_plot(
        [Series("a < b", ((10, 0.1), (100, 1.0), (1000, 10.0))), Series("c", ((10, 1.0), (1000, 1.0)))],
        title="t",
        across="patches",
        up="seconds",
    )
    root = ET.fromstring(text)  # noqa: S314 - our own text
    space = "{http://www.w3.org/2000/svg}"
    rising, level = (
        [tuple(map(float, at.split(","))) for at in line.get("points").split()]
        for line in root.iter(f"{space}polyline")
    )
    assert rising[1][0] - rising[0][0] == pytest.approx(rising[2][0] - rising[1][0], abs=0.2)
    assert rising[0][1] - rising[1][1] == pytest.approx(rising[1][1] - rising[2][1], abs=0.2)
    assert level[0][1] == level[1][1] == rising[1][1]
    assert {"a < b", "c"} <= {one.text for one in root.iter(f"{space}text")}


def test_measuring_tells_time_memory_and_result():
    measured = measure(lambda: len(bytearray(50_000_000)), limit=30, repeats=1)
    assert measured.result == 50_000_000
    assert measured.seconds > 0
    assert measured.megabytes > 50
    assert {"date", "commit", "load", "python", "ortools"} <= about().keys()
