"""Which texts are labels, and what is wrong with numbers as such."""

from dataclasses import replace

import pytest

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.errors import DrawingError, Finding
from seamtree.proofreading.labels import printed_order, read_labels, shortened

STRIPS = block_from_polygons([[(0, y), (6, y), (6, y + 1), (0, y + 1)] for y in range(3)])


def strips(*texts: str | None) -> Block:
    """Three strips one below the other with these texts."""
    by_height = sorted(range(3), key=lambda p: min(y for _, y in STRIPS.polygon(p)))
    told = dict(zip(by_height, texts, strict=True))
    return replace(STRIPS, patches=tuple(replace(p, label=told[k]) for k, p in enumerate(STRIPS.patches)))


def read(*texts: str | None) -> list[str]:
    return sorted(str(label) for label in read_labels(strips(*texts)).labels.values())


def codes(block: Block) -> list[str]:
    return [finding.code for finding in read_labels(block).faults]


@pytest.mark.parametrize(
    "text", ["A1", "a1", "A 1", "a 1", "A-1", "A.1", "A–1", "A_1", "A01", "sky A1", "A1, sky", "A1."]
)
def test_a_letter_and_a_number_are_a_label_however_they_are_parted(text):
    assert read(text, "A2", "A3") == ["A1", "A2", "A3"]


@pytest.mark.parametrize("text", ["AB1", "AB 1", "ab1", "AB-1"])
def test_two_letters_are_a_unit(text):
    assert read(text, "AB2", "AB3") == ["AB1", "AB2", "AB3"]


def test_numbers_alone_are_one_unit():
    reading = read_labels(strips("1", "no. 2", "3 sky"))
    assert sorted(map(str, reading.labels.values())) == ["1", "2", "3"]
    assert list(printed_order(reading.labels)) == [""]
    assert not reading.faults


def test_numbers_alone_are_other_text_where_labels_have_letters():
    reading = read_labels(strips("A1", "A2 7", "3"))
    assert sorted(map(str, reading.labels.values())) == ["A1", "A2"]
    assert [finding.code for finding in reading.faults] == ["no-label"]
    assert [note.message for note in reading.notes] == ["Text that is no label is ignored: '3' and '7'."]


@pytest.mark.parametrize("text", ["2.5", "2,5 in", "sky", "B", "12345", "A12345", "mast3", "1a"])
def test_other_text_is_no_label(text):
    reading = read_labels(strips("1", "2", text))
    assert sorted(map(str, reading.labels.values())) == ["1", "2"]
    assert [finding.code for finding in reading.faults] == ["no-label"]
    assert [note.code for note in reading.notes] == ["text-ignored"]
    assert text in reading.notes[0].message


def test_nothing_to_read_is_an_error_that_names_what_there_is():
    with pytest.raises(DrawingError, match=r"has a label to read.*'mist' \(2 patches\) and 'quay'"):
        read_labels(strips("mist", "quay", "mist"))
    with pytest.raises(DrawingError, match="such as A1") as none:
        read_labels(strips(None, None, None))
    assert [finding.code for finding in none.value.findings] == ["no-labels"]


def test_numbers_that_are_all_there_are_no_fault():
    assert codes(strips("A1", "A2", "B1")) == []
    assert codes(strips("A1 A1", "A2", "A3")) == []


def test_missing_numbers_are_named():
    reading = read_labels(strips("A2", "A5", "B1"))
    assert [f.message for f in reading.faults] == ["A1, A3 and A4 are printed nowhere, though A5 is."]
    assert reading.faults[0].patches == ("A1", "A3", "A4")
    assert codes(strips("A0", "A1", "A2")) == ["number-zero"]


def test_a_patch_without_label_is_named_by_its_place():
    (fault,) = read_labels(strips("A1", None, "A2")).faults
    assert fault.code == "no-label"
    assert fault.message == "The patch at 3.00, 1.50 has no label."
    assert fault.at == pytest.approx((3, 1.5))


def test_doubled_numbers_are_named_with_both_places():
    (fault,) = read_labels(strips("A1", "A2", "a 2")).faults
    assert fault.message == "A2 is printed on 2 patches: at 3.00, 1.50; 3.00, 2.50."


def test_a_patch_with_several_labels_belongs_nowhere_for_sure_if_their_units_differ():
    reading = read_labels(strips("A1 B1", "A2", "A3"))
    assert [f.code for f in reading.faults] == ["several-labels"]
    assert "A1, B1" in reading.faults[0].message
    assert len(reading.unsure) == 1
    assert read_labels(strips("A1 A4", "A2", "A3")).unsure == ()


@pytest.mark.parametrize(
    ("text", "refuted"), [("A9", True), ("a 9", True), ("9", False), ("Mussel", False), ("A9 of 12", False)]
)
def test_labels_that_sit_in_no_patch_are_faults_and_other_text_outside_is_not(text, refuted):
    note = Finding("label-outside", "A text sits in no patch.", (-1, 2), text=text)
    reading = read_labels(replace(strips("A1", "A2", "A3"), notes=(note,)))
    assert [f.code for f in reading.faults] == ["label-outside"] * refuted
    assert [n.code for n in reading.notes] == ["label-outside"] * (not refuted)


# -- letters of fabrics -----------------------------------------------------------------------------------------


def marked(*texts: str, key: str | None = None, fabrics=("#ff0000", "#000080", "#ff0000")):
    block = strips(*texts)
    by_height = sorted(range(3), key=lambda p: min(y for _, y in STRIPS.polygon(p)))
    colours = dict(zip(by_height, fabrics, strict=True))
    notes = ()
    if key is not None:
        notes = (Finding("label-outside", "A text sits in no patch.", (-1, 2), text=key),)
    patches = tuple(replace(p, fabric=colours[k]) for k, p in enumerate(block.patches))
    return read_labels(replace(block, patches=patches, notes=notes))


def told(reading) -> list[str]:
    """Return label and fabric letter of every strip, by label."""
    return sorted(f"{label} {reading.fabrics.get(p, '')}".strip() for p, label in reading.labels.items())


@pytest.mark.parametrize(
    "texts",
    [("1R", "2N", "3R"), ("1 R", "2 N", "3 R"), ("1-r", "2-n", "3-r"), ("R 1", "N 2", "R 3"), ("R1", "N2", "R3")],
)
def test_the_numbering_proves_that_letters_stand_for_fabrics(texts):
    reading = marked(*texts)
    assert told(reading) == ["1 R", "2 N", "3 R"]
    assert reading.faults == ()
    assert [note.message for note in reading.notes] == [
        "The letters N and R stand for fabrics: without them the numbers run from 1 on."
    ]


@pytest.mark.parametrize("texts", [("A1R", "A2 N", "B1-R"), ("R A1", "N A2", "R B1")])
def test_units_may_have_letters_as_well(texts):
    assert told(marked(*texts)) == ["A1 R", "A2 N", "B1 R"]


@pytest.mark.parametrize(
    ("texts", "labels"),
    [
        (("A1", "A2", "B1"), ["A1", "A2", "B1"]),  # units, whatever else
        (("A1", "A2", "B3"), ["A1", "A2", "B3"]),  # a misprinted B1: letters that do not take turns
        (("R1", "N2", "R2"), ["N2", "R1", "R2"]),  # 2 twice and no 3
        (("1R", "2N", "4R"), []),
        (("1R", "2N", "sky"), ["1 R", "2 N"]),
    ],
)
def test_without_proof_letters_are_units_or_nothing(texts, labels):
    if labels:
        assert told(marked(*texts)) == labels
    else:
        with pytest.raises(DrawingError, match="has a label to read"):
            marked(*texts)


def test_a_printed_key_proves_it_even_where_numbers_are_wrong():
    reading = marked("1R", "2N", "2R", key="R = red, N: navy")
    assert told(reading) == ["1 R", "2 N", "2 R"]
    assert [fault.code for fault in reading.faults] == ["number-doubled"]
    assert [note.message for note in reading.notes] == [
        "Letters stand for fabrics, as the printed key says: N navy and R red."
    ]
    reading = marked("R1", "N2", "R2", key="R – red; N – navy")
    assert told(reading) == ["1 R", "2 N", "2 R"]


@pytest.mark.parametrize("key", ["Block R: red", "R", "R = red, sew", "12 in = 1 ft"])
def test_other_text_is_no_key(key):
    reading = marked("R1", "N2", "R2", key=key)
    assert told(reading) == ["N2", "R1", "R2"]
    assert "label-outside" in [note.code for note in reading.notes]


def test_a_key_of_fabrics_does_not_undo_units():
    assert told(marked("A1", "A2", "B1", key="A = red, B = navy")) == ["A1", "A2", "B1"]


def test_a_letter_on_two_colours_is_a_fault():
    reading = marked("1R", "2R", "3R")
    (fault,) = reading.faults
    assert fault.code == "letter-on-two-colours"
    assert fault.message == "The fabric letter R stands on 2 colours: red in 1 and 3; navy in 2."
    assert (fault.patches, fault.at) == (("2",), pytest.approx((3, 1.5)))


def test_a_colour_under_two_letters_is_a_fault():
    (fault,) = marked("1R", "2N", "3S").faults
    assert fault.code == "colour-under-two-letters"
    assert fault.message == "The colour red is under 2 fabric letters: R in 1; S in 3."


def test_fabrics_that_are_not_drawn_are_no_fault():
    assert marked("1R", "2R", "3S", fabrics=(None, None, None)).faults == ()


def test_long_lists_are_cut_short():
    assert shortened(["A1"]) == "A1"
    assert shortened(["A1", "A2"]) == "A1 and A2"
    assert shortened([f"A{k}" for k in range(1, 12)]) == "A1, A2, A3, A4, A5, A6, A7, A8 and 3 more"
