"""What hangs together, against networkx."""

from __future__ import annotations

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from seamtree.geometry.groups import connected


def test_small_cases():
    assert connected(0, []) == []
    assert connected(4, [(3, 1)]) == [[0], [1, 3], [2]]
    assert connected(4, [(3, 1), (1, 3), (2, 2), (0, 3)]) == [[0, 1, 3], [2]]


@given(st.integers(1, 12).flatmap(lambda n: st.tuples(st.just(n), st.lists(st.tuples(*[st.integers(0, n - 1)] * 2)))))
def test_groups_are_connected_components(case):
    count, pairs = case
    graph = nx.Graph(pairs)
    graph.add_nodes_from(range(count))
    assert connected(count, pairs) == sorted(sorted(part) for part in nx.connected_components(graph))
