from __future__ import annotations

import io
import os
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from seamtree.block.build import block_from_polygons
from seamtree.errors import Finding
from seamtree.planning.directions import describe_join
from seamtree.planning.model import Bound, Join, Plan, Seam, Unit
from seamtree_cli.sewing_tree import MOST_ALIKE, render_plan, render_warnings
from seamtree_cli.terminal_picture import render_picture
from tests.cli.hand_made import buoy, counts_of, dinghy, net, rectangle, rope_ring, unit_name

SNAPSHOTS = Path(__file__).parent / "snapshots"


def printed(*renderables, width=80, colour=False) -> str:
    out = io.StringIO()
    console = Console(
        file=out,
        width=width,
        force_terminal=colour,
        color_system="truecolor" if colour else None,
        legacy_windows=False,
        highlight=False,
    )
    for renderable in renderables:
        console.print(renderable)
    return out.getvalue()


def all_of(plan: Plan, *, width=80, columns=60, rows=40, colour=False) -> str:
    picture = render_picture(plan, columns=columns, rows=rows, colour=colour)
    parts = [picture] if picture else []
    return printed(
        *parts, render_plan(plan, colour=colour), *render_warnings(plan.warnings), width=width, colour=colour
    )


def check_snapshot(name: str, text: str) -> None:
    path = SNAPSHOTS / f"{name}.txt"
    if os.environ.get("UPDATE_SNAPSHOTS"):
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("name", "plan"),
    [
        ("one_unit", buoy()),
        ("two_units", dinghy()),
        ("partial_seam", rope_ring()),
        ("row_by_row", net(4, 5)),
        ("from_below", net(4, 5, "from below")),
        ("halves", net(3, 8, "halves")),
        ("not_proven", net(4, 3, proven=False)),
    ],
)
def test_what_is_printed(name, plan):
    check_snapshot(name, all_of(plan))


def test_colour_changes_nothing_but_colours():
    coloured = all_of(dinghy(), colour=True)
    assert "\x1b[" in coloured
    plain = re.sub(r"\x1b\[[0-9;]*m", "", coloured)
    # On their colour the numbers get a margin.
    assert re.sub(r" +", " ", plain).split() == re.sub(r" +", " ", all_of(dinghy())).split()


def test_numbers_stand_legibly_on_the_colour_of_their_fabric():
    coloured = printed(render_plan(dinghy(), colour=True), colour=True)
    assert "\x1b[38;2;255;255;255;48;2;31;58;95m B1–B2 " in coloured
    assert "\x1b[38;2;0;0;0;48;2;253;253;248m A2 " in coloured


def test_text_of_a_drawing_is_only_text():
    block = block_from_polygons(
        [rectangle(0, 0, 4, 2), rectangle(0, 2, 4, 4)],
        fabrics=["[bold]wave[/bold]", "#ffffff"],
        labels=["[/]\x1b[31mfoam\n[link=x]", "y" * 500],
    )
    block = replace(block, name="[red]tide[/red]\x07\x9b31m\u202e:anchor:")
    tree = Unit("A", (0, 1))
    warning = Finding("note", "[red]here[/red]\x1b]0;title\x07 at (1, 1) in")
    text = all_of(Plan(block, "single unit", tree, counts_of(2, tree), Bound(0, 1), True, (warning,)))
    assert "[red]tide[/red] 31m :anchor:, 4 × 4 in" in text
    assert "“[/] [31mfoam [link=x]”" in text
    assert "[bold]wave[/bold]" in text
    assert "warning: [red]here[/red] ]0;title at (1, 1) in" in text
    assert "y" * 39 + "…" in text
    assert not set(text) & {"\x1b", "\x07", "\x9b", "\u202e"}


@pytest.mark.parametrize("width", [20, 40, 80, 200])
def test_no_line_is_wider_than_the_terminal(width):
    for plan in (dinghy(), rope_ring(), net(4, 5, "halves")):
        text = all_of(plan, width=width, columns=width)
        assert max(map(len, text.splitlines())) <= width


def test_lines_break_between_patches():
    text = printed(render_plan(net(12, 2), colour=False), width=50)
    assert all(
        re.fullmatch(r"[├└│─ ]+(unit|join|[AB]\d|11 matched|press).*", line) for line in text.splitlines()[4:]
    ), text


def test_many_alike_warnings_are_cut_short_and_counted():
    warnings = [Finding("unfilled-patch", f"no fabric at ({k}, 1) in") for k in range(20)]
    warnings.append(Finding("healed", "one end was snapped"))
    lines = [line.plain for line in render_warnings(warnings)]
    assert lines[0] == "warning: no fabric at (0, 1) in"
    assert lines[MOST_ALIKE] == f"warning: {20 - MOST_ALIKE} more like these; --json lists them all"
    assert lines[MOST_ALIKE + 1 :] == ["warning: one end was snapped"]


def test_what_is_not_proven_is_said_once():
    assert list(render_warnings([Finding("not-proven", "The time was up.")])) == []


def test_what_to_do_at_hard_corners_stands_below_their_join():
    plan = rope_ring()
    (join,) = plan.joins()
    text = " ".join(
        printed(render_plan(plan, colour=False))
        .split("partial, 6 in, press toward unit A\n")[1]
        .replace("│", " ")
        .split()
    )
    for sentence in describe_join(plan, join):
        assert sentence in text.replace("├── ", "").replace("└── ", "")


def test_exactly_as_many_alike_warnings_as_are_shown_are_all_there():
    warnings = [Finding("unfilled-patch", f"no fabric at ({k}, 1) in") for k in range(MOST_ALIKE)]
    assert len(list(render_warnings(warnings))) == MOST_ALIKE


def test_parts_are_named_by_their_units():
    block = net(1, 4).block
    seam = Seam("straight", (0, 1), 1.0)
    a, b, c, d = (Unit(unit_name(k), (k,)) for k in range(4))
    tree = Join(3, seam, (Join(2, seam, (Join(1, seam, (a, c)), d)), b))
    plan = Plan(block, "joined units", tree, counts_of(4, tree), Bound(0, 4), True)
    text = printed(render_plan(plan, colour=False))
    assert "join 1: unit A to unit C, straight, 1 in" in text
    assert "join 2: units A, C to unit D" in text
    assert "join 3: units A, C–D to unit B" in text


@pytest.mark.parametrize(
    ("plan", "line"),
    [
        (dinghy(), "proven: no sewing order has fewer units"),
        (rope_ring(), "proven: no sewing order has fewer hard corners, nor then fewer units"),
        (
            net(1, 3, proven=False),
            "not proven: at least 2 units are needed; a longer --time-limit may tell",
        ),
        (
            replace(rope_ring(), proven=False, bound=Bound(0, 1)),
            "not proven: there may be a sewing order with fewer hard corners; a longer --time-limit may tell",
        ),
        (
            replace(rope_ring(), proven=False, bound=Bound(1, 1), counts=replace(rope_ring().counts, partial=3)),
            "not proven: there may be a sewing order with fewer hard corners, though with at least 1; "
            "a longer --time-limit may tell",
        ),
        (
            replace(rope_ring(), proven=False, bound=Bound(1, 1)),
            "not proven: at least 1 unit is needed; a longer --time-limit may tell",
        ),
    ],
)
def test_what_is_proven_is_told(plan, line):
    assert printed(render_plan(plan, colour=False), width=200).splitlines()[3] == line


@pytest.mark.parametrize(
    ("patches", "told"), [((0, 1), "1 unit is a single patch"), ((0,), "2 units are single patches")]
)
def test_single_patches_are_counted(patches, told):
    units = Unit("A", patches), Unit("B", (len(patches),))
    tree, block = Join(1, Seam("straight", (0, 1), 1.0), units), net(1, len(patches) + 1).block
    plan = Plan(block, "joined units", tree, counts_of(len(patches) + 1, tree), Bound(0, 2), True)
    assert printed(render_plan(plan, colour=False)).splitlines()[2].endswith(f"; {told}")


def test_a_single_unit_needs_no_proof():
    assert "prove" not in printed(render_plan(buoy(), colour=False))


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_tree_reads_from_top_to_bottom_and_stays_flat(data):
    """Random ways to join up to 40 units: parts come before their join, and the indent grows with the logarithm."""
    total = data.draw(st.integers(1, 40))
    seam = Seam("straight", (0, 1), 1.0)
    step = 0

    def grow(first, stop):
        nonlocal step
        if stop - first == 1:
            return Unit(unit_name(first), (first,))
        middle = data.draw(st.integers(first + 1, stop - 1))
        parts = grow(first, middle), grow(middle, stop)
        step += 1
        return Join(step, seam, parts)

    tree = grow(0, total)
    block = net(1, total).block
    plan = Plan(block, "joined units", tree, counts_of(total, tree), Bound(0, total), True)
    lines = printed(render_plan(plan, colour=False), width=300).splitlines()
    units = [m[1] for line in lines if (m := re.search(r"─ unit ([A-Z]+), a single patch", line))]
    joins = [int(m[1]) for line in lines if (m := re.search(r"─ join (\d+):", line))]
    assert units == [unit_name(k) for k in range(total)]
    assert joins == list(range(1, total))
    assert max(len(re.match(r"[│├└─ ]*", line)[0]) for line in lines) <= 4 * (total.bit_length() + 1)
    sewn = set()
    for line in lines:
        if m := re.search(r"─ unit ([A-Z]+),", line):
            sewn.add(m[1])
        elif m := re.search(r"─ join \d+: units? ([A-Z]+)(?:–([A-Z]+))? to units? ([A-Z]+)(?:–([A-Z]+))?,", line):
            assert {name for name in m.groups() if name} <= sewn
