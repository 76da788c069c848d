"""What parts are called."""

import seamtree
from seamtree.planning.naming import name_units, units_by_node
from tests.search.straight.test_parts import squares


def test_neighbouring_letters_become_a_range() -> None:
    assert name_units(["A"]) == "unit A"
    assert name_units(["A", "C", "D", "E"]) == "units A, C–E"
    assert name_units(["Y", "Z", "AA", "AB", "AD"]) == "units Y–AB, AD"


def test_every_node_has_the_units_below_it() -> None:
    plan = seamtree.plan(squares(3, 3))
    names = units_by_node(plan.tree)
    assert names[id(plan.tree)] == ("A", "B", "C")
    assert all(names[id(unit)] == (unit.name,) for unit in plan.units())
