"""A plan as a tree to sew by: read from top to bottom, every line is the next thing to do.

A unit is a leaf. A join stands below the two parts that it sews together. So that a long row of joins does not
wander off to the right, the larger part of a join stands at the level of the join itself; only the smaller part,
when it is put together from several units, gets a branch of its own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.style import Style
from rich.table import Table
from rich.text import Text
from rich.tree import Tree

from seamtree.colour import ink_on
from seamtree.errors import Finding
from seamtree.fabric import fabric_rgb
from seamtree.planning.directions import describe_join
from seamtree.planning.model import PROVEN_ITEMS, Join, Node, Plan, Unit
from seamtree.planning.naming import name_units, units_by_node
from seamtree_cli.wording import LABEL_LENGTH, count, dimensions, inches, plain

if TYPE_CHECKING:
    from seamtree.comparison import Row

MOST_ALIKE = 6
"""As many warnings of one kind are shown in full."""


@dataclass(frozen=True, slots=True)
class Group:
    """A part of several units that is put together before it is joined to a larger one."""

    node: Join
    units: tuple[str, ...]


Step = Unit | Join | Group


def render_plan(plan: Plan, *, colour: bool) -> Tree:
    """Return the sewing order of a block as a tree.

    Parameters
    ----------
    plan
        What to show.
    colour
        Whether patch numbers stand on the colour of their fabric.
    """
    members = units_by_node(plan.tree)
    tree = Tree(_heading(plan), highlight=False)
    writer = _Writer(plan, colour=colour, members=members)
    stack = [(tree, step) for step in reversed(_steps(plan.tree, members))]
    while stack:
        branch, step = stack.pop()
        if isinstance(step, Group):
            inner = branch.add(Text(f"{name_units(step.units)}:"))
            stack += [(inner, s) for s in reversed(_steps(step.node, members))]
        elif isinstance(step, Unit):
            branch.add(writer.unit(step))
        else:
            line = branch.add(writer.join(step))
            for what_to_do in writer.corners(step):
                line.add(what_to_do)
    return tree


def render_warnings(warnings: Sequence[Finding]) -> Iterator[Text]:
    """Yield one line for each warning; of many of one kind the first ones and how many more there are.

    That a plan is not proven stands at the root of the tree and is not said again.
    """
    warnings = [warning for warning in warnings if warning.code != "not-proven"]
    shown: Counter[str] = Counter()
    total = Counter(w.code for w in warnings)
    for warning in warnings:
        shown[warning.code] += 1
        if shown[warning.code] <= MOST_ALIKE:
            yield Text.assemble(("warning: ", "yellow"), plain(warning.message))
        if shown[warning.code] == total[warning.code] > MOST_ALIKE:
            more = total[warning.code] - MOST_ALIKE
            yield Text.assemble(("warning: ", "yellow"), f"{more:,} more like these; --json lists them all")


def render_notes(notes: Sequence[Finding]) -> Iterator[Text]:
    """Yield one line for each note."""
    for note in notes:
        yield Text.assemble(("note: ", "cyan"), plain(note.message))


def render_rows(rows: Sequence[Row]) -> Table:
    """Return what each wish makes of a block as a table."""
    table = Table(box=None, pad_edge=False, show_edge=False)
    table.add_column("asked")
    for name in ("units", "foundations", "matched", "corners", "sheets", "level"):
        table.add_column(name, justify="right")
    table.add_column("")
    for row in rows:
        counts = row.plan.counts
        figures = (counts.units, counts.foundations, counts.matched_points, counts.hard_corners)
        sheets = f"{row.sheets} {row.paper.rpartition(' ')[2]}"
        table.add_row(row.wish, *map(str, figures), sheets, str(row.level), row.proof)
    return table


def _heading(plan: Plan) -> Text:
    """Return the root: name and size, verdict, figures, and what is proven."""
    lines = [
        Text.assemble((plain(plan.block.name), "bold"), f", {dimensions(plan.block.width, plan.block.height)}"),
        Text(_verdict(plan), "yellow" if plan.verdict == "hard corners" else "green"),
        Text(_figures(plan)),
        Text(_repeats(plan)),
        Text(_proof(plan), "" if plan.proven else "yellow"),
        Text(_not_compared(plan)),
    ]
    return Text("\n").join(line for line in lines if line)


def _verdict(plan: Plan) -> str:
    counts = plan.counts
    if plan.verdict == "single unit":
        return "one unit: straight seams sew the whole block on one foundation"
    if plan.verdict == "joined units":
        return f"{counts.units} units, joined by straight seams"
    corners = count(counts.hard_corners, "hard corner")
    return f"{corners} ({counts.corners_by_kind}): straight seams alone cannot sew this block"


def _figures(plan: Plan) -> str:
    counts = plan.counts
    figures = [count(counts.patches, "patch", "patches")]
    if plan.verdict == "hard corners":
        figures.append(count(counts.units, "unit"))
    if counts.joins:
        figures += [count(counts.joins, "join"), matched(counts.matched_points, counts.nesting_points)]
    if counts.excess_pivots:
        figures.append(f"{count(counts.excess_pivots, 'pivot')} more than two to a join")
    line = ", ".join(figures)
    if counts.single_patches and counts.units > 1:
        line += f"; {count(counts.single_patches, 'unit is a single patch', 'units are single patches')}"
    return line


def matched(points: int, nesting: int) -> str:
    """Count matched points, and those of them that nest."""
    words = count(points, "matched point")
    if not points:
        return words
    return f"{words} ({nesting or 'none'} {'nests' if nesting == 1 or points == 1 else 'nest'})"


def _repeats(plan: Plan) -> str:
    """Name the units that are sewn on the same foundation."""
    size = {unit.name: len(unit.patches) for unit in plan.units()}
    words = [
        f"unit {names[0]}{' (a single patch) is cut' * (size[names[0]] == 1) or ' is sewn'} {len(names)} times: "
        f"{', '.join(names)}"
        for names in plan.repeats
    ]
    return "; ".join(words)


def _not_compared(plan: Plan) -> str:
    """Say which figures below the units may not be the best."""
    if not plan.unproven or not plan.proven:
        return ""
    return f"not all such plans were compared, so these may not be the best: {', '.join(plan.unproven)}"


def _proof(plan: Plan) -> str:
    """Say what no other sewing order can do better."""
    counts, bound = plan.counts, plan.bound
    if plan.verdict == "single unit":
        return f"as printed: {plan.kept} are kept" if plan.kept else ""
    if plan.kept:
        best = counts.units == plan.claims.cost.joins + 1
        return f"as printed: {plan.kept} are kept" + "; proven: no sewing order has fewer units" * best
    if plan.wishes.repeats:
        return _proof_of_repeats(plan)
    if plan.wishes.limit and plan.proven:
        corners = "hard corners, nor then fewer " * bool(counts.hard_corners)
        return f"proven: no sewing order with units {plan.wishes.limit} has fewer {corners}units"
    if plan.proven:
        return f"proven: no sewing order has fewer {'hard corners, nor then fewer ' * bool(counts.hard_corners)}units"
    least = f"at least {count(bound.units, 'unit is', 'units are')} needed"
    item = plan.open_item
    if item is not None and item != "units":
        least = f"there may be a sewing order with fewer {PROVEN_ITEMS[item][1]}"
        if getattr(bound, item):
            least += f", though with at least {getattr(bound, item)}"
    return f"not proven: {least}; a longer --time-limit may tell"


def _proof_of_repeats(plan: Plan) -> str:
    """Say whether fewer different foundations would do."""
    if plan.proven:
        limit = f" with units {plan.wishes.limit}" if plan.wishes.limit else ""
        return f"proven: no sewing order{limit} has fewer different foundations, nor then fewer units"
    if plan.counts.hard_corners:
        return "not proven: another sewing order may have fewer different foundations"
    return "not proven: fewer different foundations, or units, may do; a longer --time-limit may tell"


def _steps(node: Node, members: dict[int, tuple[str, ...]]) -> list[Step]:
    """Return what stands at one level: the parts of each join before the join, in sewing order."""
    before: list[Step] = []
    after: list[Step] = []
    while isinstance(node, Join):
        first, second = node.parts
        after.append(node)
        if len(members[id(first)]) >= len(members[id(second)]):
            after.append(_step(second, members))
            node = first
        else:
            before.append(_step(first, members))
            node = second
    return [*before, node, *reversed(after)]


def _step(node: Node, members: dict[int, tuple[str, ...]]) -> Step:
    return node if isinstance(node, Unit) else Group(node, members[id(node)])


class Chunks:
    """Pieces of text one after the other; lines are broken between pieces as long as a piece fits on a line."""

    def __init__(self, pieces: Sequence[Text]) -> None:
        self._pieces = pieces

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        line = Text()
        for piece in self._pieces:
            if line and line.cell_len + cell_len(piece.plain.rstrip()) > options.max_width:
                line.rstrip()
                yield line
                line = Text()
            line.append_text(piece)
        yield line


class _Writer:
    """Writes the lines of one plan."""

    def __init__(self, plan: Plan, *, colour: bool, members: dict[int, tuple[str, ...]]) -> None:
        self._plan = plan
        self._block = plan.block
        self._words = plan.block.fabric_words()
        self._named_fabrics = any(patch.fabric for patch in plan.block.patches)
        self._colour = colour
        self._members = members

    def unit(self, unit: Unit) -> Chunks:
        """Return a unit with its patches in sewing order, neighbours of the same fabric together."""
        head = ", a single patch: " if len(unit.patches) == 1 else f", {len(unit.patches)} patches: "
        numbered = [(k, self._block.patches[p]) for k, p in enumerate(unit.patches, 1)]
        runs = [
            self._run(unit.name, [number for number, _ in run], fabric, label)
            for (fabric, label), run in groupby(numbered, key=lambda pair: (pair[1].fabric, pair[1].label))
        ]
        for run in runs[:-1]:
            run.append(", ")
        return Chunks((Text.assemble((f"unit {unit.name}", "bold"), head), *runs))

    def _run(self, name: str, numbers: Sequence[int], fabric: str | None, label: str | None) -> Text:
        """Return neighbours of the same fabric: their numbers, the fabric, the label."""
        text = self._chip(name, numbers, fabric)
        if self._named_fabrics:
            text.append(f" {plain(self._words[fabric], limit=LABEL_LENGTH)}")
        if label:
            text.append(f" “{plain(label, limit=LABEL_LENGTH)}”", "italic")
        return text

    def join(self, join: Join) -> Chunks:
        """Return a join: its number, the parts, the kind of seam, its length, matched points, where to press."""
        first, second = parts = [name_units(self._members[id(part)]) for part in join.parts]
        seam = join.seam
        pieces = [
            Text.assemble((f"join {join.step}", "bold"), f": {first} "),
            Text(f"to {second}, "),
            Text.assemble((seam.kind, "" if seam.kind == "straight" else "yellow"), ", "),
            Text(f"{inches(seam.length)} in, "),
        ]
        if seam.matched:
            pieces.append(Text(f"{matched(len(seam.matched), len(join.nests))}, "))
        pieces.append(Text(f"press toward {parts[join.press]}"))
        return Chunks(pieces)

    def corners(self, join: Join) -> Iterator[Text]:
        """Yield what the sewist does at the hard corners of a join; the warnings say why."""
        yield from map(Text, describe_join(self._plan, join))

    def _chip(self, name: str, numbers: Sequence[int], fabric: str | None) -> Text:
        """Return the numbers of neighbouring patches, on the colour of their fabric."""
        first, last = numbers[0], numbers[-1]
        words = f"{name}{first}" if first == last else f"{name}{first}–{name}{last}"
        if not self._colour or fabric is None or not fabric_rgb(fabric):
            return Text(words)
        return Text.assemble((f" {words} ", swatch(fabric)))


def swatch(colour: str) -> Style:
    """Return a style that writes legibly on a colour ``#rrggbb``."""
    return Style(color=ink_on(colour), bgcolor=colour)
