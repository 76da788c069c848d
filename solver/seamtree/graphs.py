"""Plans and blocks as graphs of networkx, which is loaded only here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.block.model import Block
from seamtree.planning.model import Join, Node, Plan, Unit, nodes_in_turn

if TYPE_CHECKING:
    import networkx as nx


def plan_graph(plan: Plan) -> nx.DiGraph:
    """Return the tree of a plan (see `seamtree.Plan.to_networkx`)."""
    import networkx as nx

    block, ids = plan.block, plan.patch_ids()
    graph = nx.DiGraph(name=block.name, verdict=plan.verdict, proven=plan.proven)
    for node in nodes_in_turn(plan.tree):
        patches = tuple(ids[p] for p in node.patches)
        if isinstance(node, Unit):
            graph.add_node(node.name, kind="unit", patches=patches)
            continue
        seam = node.seam
        graph.add_node(
            node.step,
            kind="join",
            patches=patches,
            seam=seam.kind,
            length=seam.length,
            path=tuple(map(block.place, seam.path)),
            hard_corners=len(seam.corners),
            matched_points=len(seam.matched),
        )
        for number, part in enumerate(node.parts):
            graph.add_edge(node.step, _key(part), part=number, pressed_here=number == node.press)
    return graph


def _key(node: Node) -> str | int:
    return node.step if isinstance(node, Join) else node.name


def block_graph(block: Block) -> nx.Graph:
    """Return the patches of a block and which of them share a seam (see `seamtree.Block.to_networkx`)."""
    import networkx as nx

    graph = nx.Graph(name=block.name, width=block.width, height=block.height)
    for p, patch in enumerate(block.patches):
        graph.add_node(p, fabric=patch.fabric, label=patch.label, polygon=tuple(block.polygon(p)))
    shared: dict[tuple[int, int], list[int]] = {}
    for k in block.interior_edges:
        edge = block.edges[k]
        shared.setdefault((min(edge.left, edge.right), max(edge.left, edge.right)), []).append(k)
    for (a, b), edges in shared.items():
        graph.add_edge(a, b, length=sum(map(block.edge_length, edges)), edges=tuple(edges))
    return graph
