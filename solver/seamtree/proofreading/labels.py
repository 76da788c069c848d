"""Printed labels: which texts are numbers of patches, and what is wrong with the numbers as such.

A label is a letter for the unit and a number, however they are parted: ``A1``, ``a 1``, ``A-1``, ``A.1``. Two letters
are read as a unit if both are capitals or the number follows at once (``AB 3``, ``ab3``), so that ``no. 3`` is not
unit NO. Where no label of a block has a letter, numbers alone are labels, all of one unit. Any other text is ignored.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from seamtree.block.model import Block
from seamtree.errors import DrawingError, Finding, Point
from seamtree.proofreading.model import Label, middle

_LABEL = re.compile(
    r"(?<!\w)(?<!\d[.,])"
    r"(?:(?P<unit>[^\W\d_]|[A-Z]{2}|[a-z]{2}(?=\d))[\s._–-]*)?"
    r"(?P<number>\d{1,4})"
    r"(?!\w|[.,]\d)"
)

_STRAY = re.compile(r"The text '(?P<text>.*)' at \(-?\d", re.DOTALL)
"""How the reader tells of a text that sits in no patch."""

_SHOWN = 8
"""As many texts and numbers are listed in one message."""


@dataclass(frozen=True, slots=True)
class Reading:
    """The labels of a block.

    Parameters
    ----------
    labels
        Per patch that has a label; where it has several, the first one.
    unsure
        Patches that may belong to another unit than their label says, or to any.
    faults
        What is wrong with the labels.
    notes
        What was ignored, and all else that was noted about the block.
    """

    labels: Mapping[int, Label]
    unsure: tuple[int, ...]
    faults: tuple[Finding, ...]
    notes: tuple[Finding, ...]


def read_labels(block: Block) -> Reading:
    """Read the printed labels of a block.

    Raises
    ------
    DrawingError
        If no patch has one.
    """
    texts = {p: patch.label for p, patch in enumerate(block.patches) if patch.label}
    lettered = any(label.unit for text in texts.values() for label in _found(text))
    read = {p: _told(text, lettered=lettered) for p, text in texts.items()}
    labels = {p: found[0] for p, (found, _) in read.items() if found}
    others = Counter(rest for _, rest in read.values() if rest)
    if not labels:
        raise DrawingError(_nothing_to_read(block, others))
    several = {p: found for p, (found, _) in read.items() if len(found) > 1}
    bare = [p for p in range(len(block.patches)) if p not in labels]
    outside = [note for note in block.notes if _is_label_outside(note, lettered=lettered)]
    faults = (
        *(_several(block, p, found) for p, found in several.items()),
        *(_bare(block, p) for p in bare),
        *_doubled(block, labels),
        *_missing(labels),
        *(Finding(note.code, note.message, note.at) for note in outside),
    )
    notes = (*_ignored(others), *(note for note in block.notes if note not in outside))
    unsure = {*bare, *(p for p, found in several.items() if len({label.unit for label in found}) > 1)}
    return Reading(labels, tuple(sorted(unsure)), faults, notes)


def printed_order(labels: Mapping[int, Label]) -> dict[str, tuple[int, ...]]:
    """Return the patches of every unit in printed order; units by the length of their names, then by name."""
    units: dict[str, list[int]] = defaultdict(list)
    for p in sorted(labels, key=lambda p: (labels[p].number, p)):
        units[labels[p].unit].append(p)
    return {name: tuple(units[name]) for name in sorted(units, key=lambda name: (len(name), name))}


def _found(text: str) -> list[Label]:
    """Return the labels in a text, each once."""
    found = [Label((m["unit"] or "").upper(), int(m["number"])) for m in _LABEL.finditer(text)]
    return list(dict.fromkeys(found))


def _told(text: str, *, lettered: bool) -> tuple[list[Label], str]:
    """Return the labels in a text, and what else it says."""
    rest = []
    at = 0
    for m in _LABEL.finditer(text):
        if m["unit"] or not lettered:
            rest.append(text[at : m.start()])
            at = m.end()
    rest.append(text[at:])
    found = [label for label in _found(text) if label.unit or not lettered]
    return found, " ".join(" ".join(rest).split()).strip(" .,;:–-")


def _is_label_outside(note: Finding, *, lettered: bool) -> bool:
    """Tell whether a note is about a text in no patch that is a label and nothing else."""
    told = _STRAY.match(note.message) if note.code == "label-outside" else None
    if told is None:
        return False
    found, rest = _told(told["text"], lettered=lettered)
    return bool(found) and not rest


# -- what is wrong ----------------------------------------------------------------------------------------------


def _several(block: Block, patch: int, found: Sequence[Label]) -> Finding:
    names = tuple(map(str, found))
    at = middle(block, patch)
    return Finding("several-labels", f"The patch at {place(at)} has several labels: {', '.join(names)}.", at, names)


def _bare(block: Block, patch: int) -> Finding:
    at = middle(block, patch)
    return Finding("no-label", f"The patch at {place(at)} has no label.", at)


def _doubled(block: Block, labels: Mapping[int, Label]) -> Iterator[Finding]:
    places: dict[Label, list[int]] = defaultdict(list)
    for p, label in labels.items():
        places[label].append(p)
    for label in sorted(places, key=lambda label: (len(label.unit), label.unit, label.number)):
        twice = places[label]
        if len(twice) > 1:
            where = "; ".join(place(middle(block, p)) for p in twice)
            message = f"{label} is printed on {len(twice)} patches: at {where}."
            yield Finding("number-doubled", message, middle(block, twice[1]), (str(label),))


def _missing(labels: Mapping[int, Label]) -> Iterator[Finding]:
    for name, patches in printed_order(labels).items():
        numbers = {labels[p].number for p in patches}
        if min(numbers) == 0:
            yield Finding("number-zero", f"Numbers begin with 1; {name}0 is printed.", None, (f"{name}0",))
        gaps = [k for k in range(1, max(numbers)) if k not in numbers]
        if gaps:
            names = tuple(f"{name}{k}" for k in gaps)
            verb = "is" if len(gaps) == 1 else "are"
            message = f"{shortened(names)} {verb} printed nowhere, though {name}{max(numbers)} is."
            yield Finding("number-missing", message, None, names)


def _ignored(others: Mapping[str, int]) -> Iterator[Finding]:
    if others:
        yield Finding("text-ignored", f"Text that is no label is ignored: {_quoted(others)}.")


def _nothing_to_read(block: Block, others: Mapping[str, int]) -> Finding:
    message = (
        f"No patch of the block {block.name} has a label to read. Print a letter for the unit and a number in every "
        "patch, such as A1, or a number alone if all is one unit."
    )
    if others:
        message += f" The text found is no label: {_quoted(others)}."
    return Finding("no-labels", message)


# -- words ------------------------------------------------------------------------------------------------------


def place(at: Point) -> str:
    """Return a place in words (inches)."""
    # Adding zero turns a negative zero into a plain one.
    return f"{round(at[0], 2) + 0.0:.2f}, {round(at[1], 2) + 0.0:.2f}"


def shortened(names: Sequence[str]) -> str:
    """Return names as a list in words; of many only the first."""
    if len(names) > _SHOWN:
        return f"{', '.join(names[:_SHOWN])} and {len(names) - _SHOWN:,} more"
    return " and ".join([*([", ".join(names[:-1])] if names[1:] else []), *names[-1:]])


def _quoted(others: Mapping[str, int]) -> str:
    listed = [f"'{text}'" + (f" ({number} patches)" if number > 1 else "") for text, number in sorted(others.items())]
    return shortened(listed)
