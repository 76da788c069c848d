"""Printed labels: which texts are numbers of patches, and what is wrong with the numbers as such.

A label is a letter for the unit and a number, however they are parted: ``A1``, ``a 1``, ``A-1``, ``A.1``. Two letters
are read as a unit if both are capitals or the number follows at once (``AB 3``, ``ab3``), so that ``no. 3`` is not
unit NO. Where no label of a block has a letter, numbers alone are labels, all of one unit. Any other text is ignored.

A letter may also stand for the fabric: ``10L``, ``10 L``, ``10-L``, ``A3 L``, ``L10``. It is read so only where that
is proven, by a key that is printed beside the block (``L = light blue``) or by the numbers, which without the letters
run from 1 on, each once.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from seamtree.block.model import Block
from seamtree.errors import DrawingError, Finding, Point
from seamtree.proofreading.outcome import Label, middle

_LABEL = re.compile(
    r"(?<!\w)(?<!\d[.,])"
    r"(?:(?P<unit>[^\W\d_]|[A-Z]{2}|[a-z]{2}(?=\d))[\s._–-]*)?"
    r"(?P<number>\d{1,4})"
    r"(?!\w|[.,]\d)"
)

_SEPARATED = r"[\s._–-]*"

_MARKED = re.compile(
    rf"(?:(?P<first>[^\W\d_])\s+)?(?:(?P<unit>[^\W\d_]|[A-Z]{{2}}){_SEPARATED})?(?P<number>\d{{1,4}})"
    rf"(?:{_SEPARATED}(?P<last>[^\W\d_]))?"
)
"""A label with a letter that may stand for the fabric: first, as a word of its own, or last."""

_BEFORE = re.compile(rf"(?P<letter>[^\W\d_]){_SEPARATED}(?P<number>\d{{1,4}})")
"""A number with nothing but a letter before it, which may stand for the unit or for the fabric."""

_KEY = re.compile(r"\s*(?P<letter>[^\W\d_])\s*[=:–—-]\s*(?P<name>[^\W\d_][^=:]*?)\s*")
"""An entry of a printed key."""

_NEARLY = 0.9
"""Numbers that run from 1 on but for this share are taken for a numbering with a slip in it."""

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
    fabrics
        Per patch the letter of its fabric, where letters are proven to stand for fabrics.
    """

    labels: Mapping[int, Label]
    unsure: tuple[int, ...]
    faults: tuple[Finding, ...]
    notes: tuple[Finding, ...]
    fabrics: Mapping[int, str]


def read_labels(block: Block) -> Reading:
    """Read the printed labels of a block.

    Raises
    ------
    DrawingError
        If no patch has one.
    """
    texts = {p: patch.label for p, patch in enumerate(block.patches) if patch.label}
    key = _printed_key(block.notes)
    marked, why = _fabric_letters(texts, key)
    lettered = any(label.unit for text in texts.values() for label in _found(text))
    if marked:
        lettered = any(label.unit for label, _ in marked.values())
    read = {p: _told(text, lettered=lettered) for p, text in texts.items()}
    read |= {p: ([label], "") for p, (label, _) in marked.items()}
    labels = {p: found[0] for p, (found, _) in read.items() if found}
    others = Counter(rest for _, rest in read.values() if rest)
    if not labels:
        raise DrawingError(_nothing_to_read(block, others))
    several = {p: found for p, (found, _) in read.items() if len(found) > 1}
    bare = [p for p in range(len(block.patches)) if p not in labels]
    outside = [note for note in block.notes if _is_label_outside(note, lettered=lettered)]
    over = [note for note in block.notes if note.code == "labels-on-each-other"]
    fabrics = {p: letter for p, (_, letter) in marked.items() if letter}
    faults = (
        *(_several(block, p, found) for p, found in several.items()),
        *(_bare(block, p) for p in bare),
        *_doubled(block, labels),
        *_missing(labels),
        *(Finding(note.code, note.message, note.at) for note in outside),
        *(Finding(note.code, note.message, note.at) for note in over),
        *_mixed_fabrics(block, labels, fabrics),
    )
    told = {*outside, *over, *(note for note in block.notes if fabrics and _entries(note))}
    notes = (*why, *_ignored(others), *(note for note in block.notes if note not in told))
    unsure = {*bare, *(p for p, found in several.items() if len({label.unit for label in found}) > 1)}
    return Reading(labels, tuple(sorted(unsure)), faults, notes, fabrics)


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


# -- letters of fabrics -----------------------------------------------------------------------------------------


def _printed_key(notes: Sequence[Finding]) -> dict[str, str]:
    """Return what letters stand for by a key printed beside the block."""
    return {letter: name for note in notes for letter, name in _entries(note).items()}


def _entries(note: Finding) -> dict[str, str]:
    """Return the entries of a key in a text that sits in no patch; none if it says anything else."""
    if note.code != "label-outside":
        return {}
    found = [_KEY.fullmatch(entry) for entry in re.split(r"[,;]", note.text)]
    return {m["letter"].upper(): m["name"] for m in found if m} if all(found) else {}


def _fabric_letters(
    texts: Mapping[int, str], key: Mapping[str, str]
) -> tuple[dict[int, tuple[Label, str]], tuple[Finding, ...]]:
    """Return the labels whose letters are proven to stand for fabrics, with those letters; and a note that says why.

    A letter after the number can be nothing else if the numbers are whole without it. One before the number might be
    the unit as well; so the numbers must not be whole as those of units, and alternate between the letters.
    """
    numbered = {p: text for p, text in texts.items() if re.search(r"\d", text)}
    last: dict[int, tuple[Label, str]] = {}
    for p, text in numbered.items():
        m = _MARKED.fullmatch(text.strip())
        letter = (m["first"] or m["last"]) if m else None
        if m and letter and not (m["first"] and m["last"]):
            last[p] = Label((m["unit"] or "").upper(), int(m["number"])), letter.upper()
    before = {
        p: (Label("", int(m["number"])), m["letter"].upper())
        for p, text in numbered.items()
        if (m := _BEFORE.fullmatch(text.strip()))
    }
    by_key = {p: found for p, found in last.items() if found[1] in key}
    if by_key:
        others = {p: (told[0], "") for p, text in numbered.items() if p not in by_key and (told := _found(text))}
        return by_key | others, (_by_key(key),)
    if before and len(before) == len(numbered) and {letter for _, letter in before.values()} <= set(key):
        return (before, (_by_key(key),)) if not _whole(_as_units(before)) else ({}, ())
    if last and len(last) == len(numbered) and _whole([label for label, _ in last.values()]):
        return last, (_by_numbers(last),)
    if before and len(before) == len(numbered) and _alternate(before) and not _whole(_as_units(before)):
        return (before, (_by_numbers(before),)) if _whole([label for label, _ in before.values()]) else ({}, ())
    return {}, ()


def _as_units(before: Mapping[int, tuple[Label, str]]) -> list[Label]:
    return [Label(letter, label.number) for label, letter in before.values()]


def _alternate(before: Mapping[int, tuple[Label, str]]) -> bool:
    """Tell whether the letters take turns as the numbers grow, which those of units do not."""
    letters = [letter for _, letter in sorted(before.values(), key=lambda found: (found[0].number, found[1]))]
    runs = sum(1 for one, other in pairwise(letters) if one != other) + 1
    return runs > len(set(letters)) > 1


def _whole(labels: Sequence[Label]) -> bool:
    """Tell whether the numbers of every unit run from 1 on, each once; of ten or more, but for a slip."""
    numbers: dict[str, list[int]] = defaultdict(list)
    for label in labels:
        numbers[label.unit].append(label.number)
    return all(len(set(found) & set(range(1, len(found) + 1))) >= _NEARLY * len(found) for found in numbers.values())


def _by_key(key: Mapping[str, str]) -> Finding:
    told = shortened([f"{letter} {name}" for letter, name in sorted(key.items())])
    return Finding("fabric-letters", f"Letters stand for fabrics, as the printed key says: {told}.")


def _by_numbers(found: Mapping[int, tuple[Label, str]]) -> Finding:
    letters = sorted({letter for _, letter in found.values()})
    one = len(letters) == 1
    told = (
        f"The letter {letters[0]} stands for a fabric"
        if one
        else f"The letters {shortened(letters)} stand for fabrics"
    )
    return Finding("fabric-letters", f"{told}: without {'it' if one else 'them'} the numbers run from 1 on.")


def _mixed_fabrics(block: Block, labels: Mapping[int, Label], fabrics: Mapping[int, str]) -> Iterator[Finding]:
    """Name letters that stand on several colours, and colours under several letters."""
    words = block.fabric_words()
    drawn = [(letter, words[block.patches[p].fabric], p) for p, letter in fabrics.items() if block.patches[p].fabric]
    yield from _mixed(block, labels, drawn, "letter-on-two-colours", "The fabric letter {} stands on {} colours: {}.")
    turned = [(word, letter, p) for letter, word, p in drawn]
    yield from _mixed(
        block, labels, turned, "colour-under-two-letters", "The colour {} is under {} fabric letters: {}."
    )


def _mixed(
    block: Block, labels: Mapping[int, Label], drawn: Sequence[tuple[str, str, int]], code: str, sentence: str
) -> Iterator[Finding]:
    """Yield a finding for everything that goes with several others; its place is where it goes with the rarest."""
    groups: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for one, other, p in drawn:
        groups[one][other].append(p)
    for one, others in sorted(groups.items()):
        if len(others) > 1:
            ranked = sorted(others.items(), key=lambda entry: (-len(entry[1]), entry[0]))
            told = "; ".join(f"{other} in {shortened([str(labels[p]) for p in ps])}" for other, ps in ranked)
            odd = ranked[-1][1]
            at = middle(block, odd[0])
            yield Finding(code, sentence.format(one, len(others), told), at, tuple(str(labels[p]) for p in odd))


def _is_label_outside(note: Finding, *, lettered: bool) -> bool:
    """Tell whether a note is about a text in no patch that is a label and nothing else."""
    if note.code != "label-outside":
        return False
    found, rest = _told(note.text, lettered=lettered)
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
