"""Proofs as JSON (schema ``seamtree-proof/1``): written and read.

Weights are exact, as fractions in text. Sets of crossings of a bundle are written as hexadecimal numbers. What no
check can follow, the records of searches, is sealed by a digest of the block and the record, so that no slip passes.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Any, TypeVar

import numpy as np

from seamtree.block.largest import Size
from seamtree.errors import ProofFileError
from seamtree.proofs.claims import (
    Added,
    Bend,
    Choice,
    Claims,
    Component,
    Corner,
    Cost,
    Fork,
    Kept,
    KeptJoin,
    Limited,
    Potentials,
    Proof,
    Repeats,
    Ring,
    Row,
    RowSums,
    Searched,
    SearchedSets,
    Sum,
    Swept,
    Through,
    Tried,
    Weighing,
    Witness,
)

SCHEMA = "seamtree-proof/1"

_MOST = 1 << 31
"""No number in a proof is as large, but for weights."""

_MOST_DIGITS = 40
"""Digits of a weight, above or below the line, at most."""

_DEEP = 200
"""Witnesses and choices one below another, at most."""

_Value = TypeVar("_Value")


# -- writing ---------------------------------------------------------------------------------------------------


def proofs_json(source: str, proofs: Iterable[tuple[str, Proof]]) -> dict[str, Any]:
    """Return the proofs of the blocks of a drawing as plain data.

    Parameters
    ----------
    source
        File name of the drawing.
    proofs
        Name and proof of each of its blocks.
    """
    return {"schema": SCHEMA, "source": source, "blocks": [_proof_json(name, proof) for name, proof in proofs]}


def _proof_json(name: str, proof: Proof) -> dict[str, Any]:
    claims = proof.claims
    told: dict[str, Any] = {
        "name": name,
        "block": proof.block,
        "cost": _cost(claims.cost),
        "corners": [_witness(witness) for witness in claims.corners],
        "potentials": None,
        "rows": None,
    }
    if isinstance(claims.units, Potentials):
        told["potentials"] = _potentials(claims.units, proof.block)
    elif isinstance(claims.units, Limited):
        told["limited"] = _limited(claims.units, proof.block)
    elif claims.units is not None:
        told["rows"] = _row_sums(claims.units)
    if claims.repeats is not None:
        told["repeats"] = _repeats(claims.repeats, proof.block)
    if claims.kept is not None:
        told["kept"] = _kept(claims.kept)
    return told


def _cost(cost: Cost) -> dict[str, int]:
    hard_corners, set_in, excess_pivots, joins = cost
    return {"hard_corners": hard_corners, "set_in": set_in, "excess_pivots": excess_pivots, "units": joins + 1}


def _witness(witness: Witness) -> dict[str, Any]:
    match witness:
        case Corner(junction):
            return {"kind": "corner", "junction": junction}
        case Bend(first, last):
            return {"kind": "bend", "edges": [first, last]}
        case Ring(walk):
            return {"kind": "ring", "walk": [list(step) for step in walk]}
        case Fork(junction, ways):
            return {
                "kind": "fork",
                "junction": junction,
                "ways": [{"edge": way, "then": _witness(below)} for way, below in ways],
            }


def _potentials(claim: Potentials, block: str) -> dict[str, Any]:
    return {
        "clusters": [{"junctions": list(c), "joins": joins} for c, joins in claim.clusters.items()],
        "apart": [{"junctions": list(c), "crossings": list(found)} for c, found in claim.apart.items()],
        "swept": [_swept(swept) for swept in claim.swept],
        "parts": [{"patches": list(p), "joins": joins} for p, joins in claim.parts.items()],
        "costs": [{"patches": list(p), "cost": list(cost)} for p, cost in claim.costs.items()],
        "searched": [_sealed(_searched(found), block) for found in claim.searched],
    }


def _limited(claim: Limited, block: str) -> dict[str, Any]:
    return {
        "largest": list(claim.size),
        "parts": [{"patches": list(p), "cost": list(cost)} for p, cost in claim.parts.items()],
        "searched": [_sealed(_searched(found), f"{block} {claim.size}") for found in claim.searched],
        "weights": list(claim.weights),
    }


def _about(block: str, largest: Size | None, fabrics: tuple[int, ...]) -> str:
    """Return what a search for different foundations was about."""
    return f"{block} {largest} {fabrics}"


def _repeats(claim: Repeats, block: str) -> dict[str, Any]:
    about = _about(block, claim.largest, claim.fabrics)
    return {
        "largest": None if claim.largest is None else list(claim.largest),
        "foundations": claim.foundations,
        "units": claim.units,
        "fabrics": list(claim.fabrics),
        "few": _weighing(claim.few),
        "then": _weighing(claim.then),
        "searched": None if claim.searched is None else _sealed(_searched_sets(claim.searched), about),
    }


def _weighing(weighing: Weighing | None) -> dict[str, Any] | None:
    return None if weighing is None else {"patches": list(weighing.patches), "each": weighing.each}


def _searched_sets(found: SearchedSets) -> dict[str, Any]:
    return {"foundations": found.foundations, "units": found.units, "tried": found.tried, "spent": found.spent}


def _kept(kept: Kept) -> dict[str, Any]:
    return {
        "units": [list(patches) for patches in kept.units],
        "joins": [{"parts": list(join.parts), "edges": list(join.edges)} for join in kept.joins],
    }


def _searched(found: Searched) -> dict[str, Any]:
    return {"patches": list(found.patches), "cost": list(found.cost), "by": found.by, "spent": found.spent}


def _sealed(record: dict[str, Any], block: str) -> dict[str, Any]:
    text = json.dumps([block, record], sort_keys=True, separators=(",", ":"))
    return {**record, "seal": hashlib.sha256(text.encode()).hexdigest()}


def _swept(swept: Swept) -> dict[str, Any]:
    words = swept.parts.astype("<u8")
    return {
        "junctions": list(swept.junctions),
        "lines": [{"line": line, "left": list(left), "right": list(right)} for line, left, right in swept.sides],
        "parts": [f"{int.from_bytes(row.tobytes(), 'little'):x}" for row in words],
        "joins": swept.joins.tolist(),
    }


def _row_sums(claim: RowSums) -> dict[str, Any]:
    return {
        "most": claim.most,
        "possible": [_choice(choice) for choice in claim.possible],
        "components": [
            {"choices": [_choice(choice) for choice in c.choices], "most": c.most, "tree": _tree(c.tree)}
            for c in claim.components
        ],
        "rows": [
            {
                "kind": row.kind,
                "witness": list(row.witness),
                "terms": [[*_choice(choice), factor] for choice, factor in row.terms],
                "most": row.most,
            }
            for row in claim.rows
        ],
    }


def _choice(choice: Choice) -> list[Any]:
    if isinstance(choice, Through):
        return ["through", choice.junction, choice.line]
    return ["added", choice.edge, choice.patch]


def _tree(tree: Sum | Tried) -> dict[str, Any]:
    if isinstance(tree, Tried):
        return {"choice": _choice(tree.choice), "no": _tree(tree.no), "yes": _tree(tree.yes)}
    return {"weights": [[n, str(weight)] for n, weight in tree.weights.items()]}


# -- reading ---------------------------------------------------------------------------------------------------


def read_proofs(data: bytes) -> list[tuple[str, Proof]]:
    """Read the proofs of a file.

    Parameters
    ----------
    data
        The content of the file.

    Returns
    -------
    list of tuple
        Name and proof of each block.

    Raises
    ------
    ProofFileError
        If it is no JSON, has another schema, or has anything in it that is no part of a proof.
    """
    try:
        told = json.loads(data.decode("utf-8"))
    except (UnicodeDecodeError, ValueError) as error:
        raise ProofFileError(f"is no JSON: {error}") from error
    except RecursionError as error:
        raise ProofFileError("is nested too deep to be a proof") from error
    schema = told.get("schema") if isinstance(told, dict) else None
    if schema != SCHEMA:
        raise ProofFileError(f"is no proof of the schema {SCHEMA!r}" + (f", but {schema!r:.60}" if schema else ""))
    _Reader("the file").text(told, "source")
    blocks = _Reader("the file").several(told, "blocks")
    return [_read_proof(_Reader(f"block {n}"), block) for n, block in enumerate(blocks, 1)]


class _Reader:
    """Takes values out of plain data, and refuses what they cannot be.

    Parameters
    ----------
    where
        What is read, for messages.
    """

    def __init__(self, where: str) -> None:
        self._where = where

    def wrong(self, key: str, what: str) -> ProofFileError:
        """Return the error that a value is not what it should be."""
        return ProofFileError(f"cannot be used: in {self._where}, {key!r} is not {what}")

    def get(self, told: Any, key: str) -> Any:
        """Return a value of an object."""
        if not isinstance(told, dict) or key not in told:
            raise ProofFileError(f"cannot be used: in {self._where}, {key!r} is missing")
        return told[key]

    def several(self, told: Any, key: str) -> list[Any]:
        """Return a list."""
        value = self.get(told, key)
        if not isinstance(value, list):
            raise self.wrong(key, "a list")
        return value

    def text(self, told: Any, key: str) -> str:
        """Return a text."""
        value = self.get(told, key)
        if not isinstance(value, str):
            raise self.wrong(key, "a text")
        return value

    def number(self, told: Any, key: str, least: int = 0) -> int:
        """Return a whole number."""
        return self.whole(self.get(told, key), key, least)

    def whole(self, value: Any, key: str, least: int = 0) -> int:
        """Return a value that is a whole number."""
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value < _MOST:
            raise self.wrong(key, f"a whole number from {least} on")
        return value

    def numbers(self, told: Any, key: str, least: int = 0) -> tuple[int, ...]:
        """Return a list of whole numbers."""
        return tuple(self.whole(value, key, least) for value in self.several(told, key))

    def exactly(self, told: Any, key: str, count: int) -> tuple[int, ...]:
        """Return a list of so many whole numbers."""
        found = self.numbers(told, key)
        if len(found) != count:
            raise self.wrong(key, f"a list of {count} numbers")
        return found

    def fraction(self, value: Any, key: str) -> Fraction:
        """Return a weight."""
        try:
            if isinstance(value, str) and len(value) <= 2 * _MOST_DIGITS and all(c in "0123456789/" for c in value):
                return Fraction(value)
        except (ValueError, ZeroDivisionError):
            pass
        raise self.wrong(key, "a fraction such as '3/4'")

    def table(
        self, told: Any, key: str, name: str, value: Callable[[Any], _Value]
    ) -> Mapping[tuple[int, ...], _Value]:
        """Return a list of objects by the numbers that each is about."""
        found = {}
        for entry in self.several(told, key):
            about = self.numbers(entry, name)
            if about in found or len(set(about)) < len(about):
                raise self.wrong(key, "about each part once")
            found[about] = value(entry)
        return found


def _read_proof(read: _Reader, told: Any) -> tuple[str, Proof]:
    cost = read.get(told, "cost")
    items = (read.number(cost, key) for key in ("hard_corners", "set_in", "excess_pivots"))
    claimed = Cost(*items)._replace(joins=read.number(cost, "units", 1) - 1)
    corners = tuple(_read_witness(read, witness, 0) for witness in read.several(told, "corners"))
    potentials, rows, block = read.get(told, "potentials"), read.get(told, "rows"), read.text(told, "block")
    units: Potentials | RowSums | Limited | None = None
    if potentials is not None and rows is not None:
        raise ProofFileError("cannot be used: units are claimed both by potentials and by rows")
    if told.get("limited") is not None:
        if potentials is not None or rows is not None:
            raise ProofFileError("cannot be used: units are claimed in several ways")
        units = _read_limited(read, told["limited"], block)
    if potentials is not None:
        units = _read_potentials(read, potentials, block)
    elif rows is not None:
        units = _read_rows(read, rows)
    repeats = None if told.get("repeats") is None else _read_repeats(read, told["repeats"], block)
    kept = None if told.get("kept") is None else _read_kept(read, told["kept"])
    return read.text(told, "name"), Proof(block, Claims(claimed, corners, units, repeats, kept))


def _read_witness(read: _Reader, told: Any, depth: int) -> Witness:
    if depth > _DEEP:
        raise read.wrong("corners", "nested so deep in any proof")
    match read.text(told, "kind"):
        case "corner":
            return Corner(read.number(told, "junction"))
        case "bend":
            first, last = read.exactly(told, "edges", 2)
            return Bend(first, last)
        case "ring":
            steps = [read.exactly({"walk": step}, "walk", 2) for step in read.several(told, "walk")]
            return Ring(tuple((junction, edge) for junction, edge in steps))
        case "fork":
            ways = (
                (read.number(way, "edge"), _read_witness(read, read.get(way, "then"), depth + 1))
                for way in read.several(told, "ways")
            )
            return Fork(read.number(told, "junction"), tuple(ways))
    raise read.wrong("kind", "corner, bend, ring or fork")


def _read_potentials(read: _Reader, told: Any, block: str) -> Potentials:
    return Potentials(
        clusters=read.table(told, "clusters", "junctions", lambda entry: read.number(entry, "joins")),
        apart=read.table(told, "apart", "junctions", lambda entry: read.numbers(entry, "crossings")),
        swept=tuple(_read_swept(read, swept) for swept in read.several(told, "swept")),
        parts=read.table(told, "parts", "patches", lambda entry: read.number(entry, "joins")),
        costs=read.table(told, "costs", "patches", lambda entry: Cost(*read.exactly(entry, "cost", 4))),
        searched=tuple(_read_searched(read, found, block) for found in read.several(told, "searched")),
    )


def _read_limited(read: _Reader, told: Any, block: str) -> Limited:
    wide, high = _read_size(read, told)
    return Limited(
        (wide, high),
        parts=read.table(told, "parts", "patches", lambda entry: Cost(*read.exactly(entry, "cost", 4))),
        searched=tuple(
            _read_searched(read, found, f"{block} {(wide, high)}") for found in read.several(told, "searched")
        ),
        weights=read.numbers(told, "weights", -_MOST),
    )


def _read_repeats(read: _Reader, told: Any, block: str) -> Repeats:
    fabrics = read.numbers(told, "fabrics")
    largest = None if read.get(told, "largest") is None else _read_size(read, told)
    return Repeats(
        foundations=read.number(told, "foundations", 1),
        units=read.number(told, "units", 1),
        fabrics=fabrics,
        few=_read_weighing(read, read.get(told, "few")),
        then=_read_weighing(read, read.get(told, "then")),
        searched=_read_searched_sets(read, read.get(told, "searched"), _about(block, largest, fabrics)),
        largest=largest,
    )


def _read_weighing(read: _Reader, told: Any) -> Weighing | None:
    if told is None:
        return None
    return Weighing(read.numbers(told, "patches", -_MOST), read.number(told, "each"))


def _read_searched_sets(read: _Reader, told: Any, about: str) -> SearchedSets | None:
    if told is None:
        return None
    foundations, units = (read.number(told, key, 1) for key in ("foundations", "units"))
    found = SearchedSets(foundations, units, read.number(told, "tried"), read.number(told, "spent"))
    if read.text(told, "seal") != _sealed(_searched_sets(found), about)["seal"]:
        raise read.wrong("seal", "that of this record: it has been changed")
    return found


def _read_kept(read: _Reader, told: Any) -> Kept:
    return Kept(
        tuple(read.numbers({"units": patches}, "units") for patches in read.several(told, "units")),
        tuple(_read_kept_join(read, join) for join in read.several(told, "joins")),
    )


def _read_kept_join(read: _Reader, told: Any) -> KeptJoin:
    one, other = read.exactly(told, "parts", 2)
    return KeptJoin((one, other), read.numbers(told, "edges"))


def _read_size(read: _Reader, told: Any) -> Size:
    size = read.several(told, "largest")
    if len(size) != 2 or not all(isinstance(side, int | float) and 0 < side < math.inf for side in size):
        raise read.wrong("largest", "a width and a height above 0")
    wide, high = map(float, size)
    return wide, high


def _read_searched(read: _Reader, told: Any, block: str) -> Searched:
    by = read.text(told, "by")
    if by not in {"paths", "model"}:
        raise read.wrong("by", "paths or model")
    cost = Cost(*read.exactly(told, "cost", 4))
    found = Searched(read.numbers(told, "patches"), cost, by, read.number(told, "spent"))  # type: ignore[arg-type]
    if read.text(told, "seal") != _sealed(_searched(found), block)["seal"]:
        raise read.wrong("seal", "that of this record: it has been changed")
    return found


def _read_swept(read: _Reader, told: Any) -> Swept:
    junctions = read.numbers(told, "junctions")
    words = max(1, -(-len(junctions) // 64))
    sides = tuple(
        (read.number(line, "line"), _places(read, line, "left", junctions), _places(read, line, "right", junctions))
        for line in read.several(told, "lines")
    )
    joins = read.numbers(told, "joins")
    rows = b"".join(_bits(read, part, 8 * words) for part in read.several(told, "parts"))
    parts = np.frombuffer(rows, dtype="<u8").astype(np.uint64).reshape(-1, words)
    if len(parts) != len(joins) or not joins:
        raise read.wrong("joins", "a number for every part")
    return Swept(junctions, sides, parts, np.array(joins, dtype=np.int64))


def _places(read: _Reader, told: Any, key: str, junctions: Sequence[int]) -> tuple[int, ...]:
    places = read.numbers(told, key)
    if any(place >= len(junctions) for place in places):
        raise read.wrong(key, "places among the crossings")
    return places


def _bits(read: _Reader, told: Any, count: int) -> bytes:
    try:
        if isinstance(told, str) and len(told) <= 2 * count:
            return int(told, 16).to_bytes(count, "little")
    except (ValueError, OverflowError):
        pass
    raise read.wrong("parts", "a list of hexadecimal numbers")


def _read_rows(read: _Reader, told: Any) -> RowSums:
    return RowSums(
        most=read.number(told, "most"),
        possible=tuple(_added(read, choice) for choice in read.several(told, "possible")),
        components=tuple(_read_component(read, component) for component in read.several(told, "components")),
        rows=tuple(_read_row(read, row) for row in read.several(told, "rows")),
    )


def _read_component(read: _Reader, told: Any) -> Component:
    choices = tuple(_read_choice(read, choice) for choice in read.several(told, "choices"))
    return Component(choices, read.number(told, "most"), _read_tree(read, read.get(told, "tree"), 0))


def _read_tree(read: _Reader, told: Any, depth: int) -> Sum | Tried:
    if depth > _DEEP:
        raise read.wrong("tree", "nested so deep in any proof")
    if isinstance(told, dict) and "choice" in told:
        no, yes = (_read_tree(read, read.get(told, way), depth + 1) for way in ("no", "yes"))
        return Tried(_read_choice(read, told["choice"]), no, yes)
    weights: dict[int, Fraction] = {}
    for pair in read.several(told, "weights"):
        if not isinstance(pair, list) or len(pair) != 2 or read.whole(pair[0], "weights") in weights:
            raise read.wrong("weights", "a list of rows, each once, with how often it is counted")
        weights[pair[0]] = read.fraction(pair[1], "weights")
    return Sum(weights)


def _read_choice(read: _Reader, told: Any) -> Choice:
    match told:
        case ["through", junction, line]:
            return Through(read.whole(junction, "through"), read.whole(line, "through"))
        case ["added", edge, patch]:
            return Added(read.whole(edge, "added"), read.whole(patch, "added"))
    raise read.wrong("choice", "['through', junction, line] or ['added', edge, patch]")


def _added(read: _Reader, told: Any) -> Added:
    choice = _read_choice(read, told)
    if isinstance(choice, Through):
        raise read.wrong("possible", "a list of additions")
    return choice


def _read_row(read: _Reader, told: Any) -> Row:
    terms = []
    for term in read.several(told, "terms"):
        if not isinstance(term, list) or len(term) != 4:
            raise read.wrong("terms", "a list of choices with factors")
        terms.append((_read_choice(read, term[:3]), read.whole(term[3], "terms", -_MOST)))
    witness = read.numbers(told, "witness")
    return Row(read.text(told, "kind"), witness, tuple(terms), read.number(told, "most", -_MOST))
