"""Units that are given: sewn again, patch by patch and join by join.

Nothing is claimed of them but that straight seams sew them: a patch is added to its unit by its whole boundary with
all before it, and a join sews the whole boundary between its parts.
"""

from __future__ import annotations

from seamtree.errors import ProofError
from seamtree.proofs.claims import Kept
from seamtree.proofs.planar import Patches, Planar, bits, mask_of


def check_kept(planar: Planar, kept: Kept) -> None:
    """Sew units that are given, and join them.

    Raises
    ------
    ProofError
        If they do not hold every patch once, or a step is no straight seam between its parts.
    """
    if sorted(p for unit in kept.units for p in unit) != list(bits(planar.whole)):
        raise ProofError("the kept units do not hold every patch once")
    parts: list[Patches | None] = []
    for patches in kept.units:
        _check_unit(planar, patches)
        parts.append(mask_of(patches))
    for n, join in enumerate(kept.joins, 1):
        one, other = (_take(parts, part, n) for part in join.parts)
        between = tuple(sorted(k for p in bits(one) for k, neighbour in planar.beside[p] if neighbour & other))
        if join.edges != between:
            raise ProofError(f"join {n} of the kept units does not sew the whole boundary between its parts")
        if not planar.is_straight(between, one | other):
            raise ProofError(f"join {n} of the kept units is no straight seam")
        parts.append(one | other)
    if sum(part is not None for part in parts) != 1:
        raise ProofError("the kept units are not all joined")


def _check_unit(planar: Planar, patches: tuple[int, ...]) -> None:
    if not patches:
        raise ProofError("a kept unit has no patch")
    sewn = 1 << patches[0]
    for p in patches[1:]:
        run = [k for k, other in planar.beside[p] if sewn & other]
        sewn |= 1 << p
        if not planar.is_straight(run, sewn):
            raise ProofError(f"patch {p} is not added to its kept unit by a straight seam")


def _take(parts: list[Patches | None], number: int, join: int) -> Patches:
    """Return a part that waits to be joined; it waits no longer."""
    part = parts[number] if 0 <= number < len(parts) else None
    if part is None:
        raise ProofError(f"join {join} of the kept units is of a part that does not wait for it")
    parts[number] = None
    return part
