"""Lines that cross too often are refused by a count, before anything is made of them."""

import pytest

from seamtree.block import build
from seamtree.block.build import build_blocks
from seamtree.drawing import limits
from seamtree.drawing.model import Drawing
from seamtree.errors import LimitError
from tests.block.drawn import frame, line, one_block


def net(count):
    """A frame with as many lines across it as down it: their crossings are the square of that."""
    step = 8 / (count + 1)
    across = [line((0, step * k), (8, step * k)) for k in range(1, count + 1)]
    down = [line((step * k, 0), (step * k, 8)) for k in range(1, count + 1)]
    return (frame(0, 0, 8, 8), *across, *down)


@pytest.mark.parametrize("count", [45, 1000])
def test_too_many_crossings_are_refused_before_the_geometry(count, monkeypatch):
    def never(*_, **__):
        raise AssertionError("the network is built though there are too many crossings")

    monkeypatch.setattr(build, "build_network", never)
    with pytest.raises(LimitError, match=r"cross in more than 2,000 places") as caught:
        build_blocks(Drawing("net.svg", "painted", net(count)))
    assert caught.value.findings[0].code == "too-large"


def test_the_limit_is_on_crossings_and_not_on_ends_that_meet(monkeypatch):
    monkeypatch.setattr(limits, "MAX_CROSSINGS", 9)
    assert len(one_block(*net(3)).patches) == 16
    with pytest.raises(LimitError, match="more than 9 places"):
        one_block(*net(4))
