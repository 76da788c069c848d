"""What each wish makes of a block, side by side."""

from __future__ import annotations

from shapely import box

from seamtree.block.build import block_from_polygons
from seamtree.comparison import compare


def test_a_row_for_each_wish() -> None:
    block = block_from_polygons(
        [box(x, 0, x + 2, 9) for x in range(0, 12, 2)], labels=["A1", "B1", *(["B2", "B3", "B4", "B5"])]
    )
    rows = {row.wish: row for row in compare(block, time_limit=2)}
    assert list(rows) == ["as printed", "fewest units", "fits A4", "fits US Letter", "repeats first"]
    assert {wish: row.plan.counts.units for wish, row in rows.items()} == {
        "as printed": 2,
        "fewest units": 1,
        "fits A4": 2,
        "fits US Letter": 2,
        "repeats first": 1,
    }
    assert {row.proof for row in rows.values()} == {"proven"}
    assert rows["fits US Letter"].paper == "US Letter"
    assert rows["fewest units"].sheets > 1
    assert rows["fits A4"].to_json()["foundations"] == 1
