"""Proofs as data: what is claimed about a block, and the checks of every claim.

A claim is a frozen record of numbers of the planar map (patches, edges, junctions, lines) and exact weights.
Checking one takes the block and the claim: this package imports block, geometry and errors, and nothing of what
found the claim.

- `claims`: the records.
- `digest`: which block a proof is about.
- `planar`: plain sets of junctions and patches, walks along lines, pairs of edges.
- `corners`: places that cost a hard corner each, whatever the order.
- `straight`: numbers of joins of straight orders, from the whole block down; `swept` has them in arrays.
- `costs`: the same for all items of merit, over every path from outline to outline.
- `rows`: sums of rows.
- `repeats`: the fewest different foundations, by weights; `kept`: units that are given, sewn again.
- `check`: all of it, for one block; `files`: proofs as JSON.
"""
