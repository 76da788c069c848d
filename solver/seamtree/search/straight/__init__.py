"""Blocks and parts that straight cuts take apart: the parts graph, and the choice among equal orders."""
