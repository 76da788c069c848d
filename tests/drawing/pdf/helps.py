"""Small PDF files for the tests, written by hand."""

from __future__ import annotations

import zlib

from seamtree.drawing.drawn import Drawing
from seamtree.drawing.pdf.read import read_pdf


def pdf(
    content: str | bytes,
    *,
    resources: str = "",
    page: str = "",
    objects: tuple[str | bytes, ...] = (),
    packed: bool = False,
    catalog: str = "",
) -> bytes:
    """Return a file with one page of 720 × 720 points; further objects are numbered from 5 on."""
    content = content.encode("latin-1") if isinstance(content, str) else content
    how = ""
    if packed:
        content, how = zlib.compress(content), "/Filter /FlateDecode "
    box = "" if "MediaBox" in page else "/MediaBox [0 0 720 720] "
    parts: list[bytes] = [
        f"<< /Type /Catalog /Pages 2 0 R {catalog} >>".encode(),
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R {box}{page} /Contents 4 0 R /Resources << {resources} >> >>".encode(),
        f"<< {how}/Length {len(content)} >>\nstream\n".encode() + content + b"\nendstream",
        *(each.encode("latin-1") if isinstance(each, str) else each for each in objects),
    ]
    out, places = bytearray(b"%PDF-1.7\n"), []
    for number, part in enumerate(parts, 1):
        places.append(len(out))
        out += f"{number} 0 obj\n".encode() + part + b"\nendobj\n"
    start = len(out)
    out += f"xref\n0 {len(parts) + 1}\n0000000000 65535 f \n".encode()
    out += b"".join(f"{place:010} 00000 n \n".encode() for place in places)
    out += f"trailer\n<< /Size {len(parts) + 1} /Root 1 0 R >>\nstartxref\n{start}\n%%EOF\n".encode()
    return bytes(out)


def stream(dictionary: str, content: str) -> str:
    return f"<< {dictionary} /Length {len(content)} >>\nstream\n{content}\nendstream"


def read(content: str, **how: object) -> Drawing:
    return read_pdf(pdf(content, **how), source="t.pdf")  # type: ignore[arg-type]
