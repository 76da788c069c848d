from __future__ import annotations

import struct
import zlib

import numpy as np
import pytest

from seamtree.errors import OptionError
from seamtree.picture import Layer, Look, Picture, Polygon, Text, draw_plan, write_png
from tests.cli.hand_made import dinghy, rope_ring


def pixels(data):
    """Read a PNG file by the standard (W3C PNG, sections 5, 7, 9): 8 bits a channel, not interlaced."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, body, head = 8, b"", b""
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kind, content = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        body += content if kind == b"IDAT" else b""
        head = content if kind == b"IHDR" else head
        at += 12 + length
    width, height, depth, colour, *_, interlace = struct.unpack(">IIBBBBB", head)
    assert (depth, interlace) == (8, 0)
    channels = {2: 3, 6: 4}[colour]
    rows = np.frombuffer(zlib.decompress(body), np.uint8).reshape(height, 1 + width * channels)
    image = np.zeros((height + 1, (width + 1) * channels), np.int64)
    for y, row in enumerate(rows, 1):
        line, above = image[y], image[y - 1]
        for x, value in enumerate(row[1:].tolist(), channels):
            left, up, corner = line[x - channels], above[x], above[x - channels]
            line[x] = (value + _predicted(row[0], left, up, corner)) % 256
    return image[1:, channels:].reshape(height, width, channels)


def _predicted(kind, left, up, corner):
    if kind == 4:
        estimate = left + up - corner
        return min((abs(estimate - v), k, v) for k, v in enumerate((left, up, corner)))[2]
    return (0, left, up, (left + up) // 2)[kind]


def painted(*shapes, resolution=72.0):
    return pixels(write_png(Picture(40.0, 20.0, "t", "d", (Layer("units", shapes),)), resolution=resolution))


def test_size_and_colours():
    half = Polygon(((0, 0), (20, 0), (20, 20), (0, 20)), "#204060")
    image = painted(half)
    assert image.shape[:2] == (20, 40)
    assert image[10, 10, :3].tolist() == [0x20, 0x40, 0x60]
    assert image[10, 30].tolist()[:3] == [255, 255, 255]
    assert painted(half, resolution=144.0).shape[:2] == (40, 80)


@pytest.mark.parametrize("text", ["A1", "Möwe", "–“×”…"])
def test_text_is_painted_with_the_typeface_that_comes_along(text):
    """With no typeface at all, resvg leaves text out."""
    image = painted(Text((20, 15), text, 12, "middle", True))
    assert (image[:, :, 0] < 100).sum() > 20


def test_bold_is_bolder():
    plain, bold = (painted(Text((20, 15), "B8", 12, "middle", weight), resolution=144) for weight in (False, True))
    assert (255 - bold[:, :, 0]).sum() > 1.2 * (255 - plain[:, :, 0]).sum()


def test_same_picture_gives_same_bytes():
    picture = draw_plan(rope_ring(), look=Look(fabrics=True))
    assert write_png(picture, resolution=60) == write_png(picture, resolution=60)


@pytest.mark.parametrize("resolution", [0, -5, 0.001, 1e6, float("nan"), float("inf")])
def test_sizes_that_make_no_image(resolution):
    with pytest.raises(OptionError, match="1 to 20,000 each way"):
        write_png(draw_plan(dinghy()), resolution=resolution)
