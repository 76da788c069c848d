"""Typefaces and how wide text is in them."""

from __future__ import annotations

from seamtree.words import cut_short

FAMILIES = ("Bitstream Vera Sans", "DejaVu Sans", "Verdana", "Arial", "Helvetica", "sans-serif")
"""Typefaces to take, the first that there is. The first three are cousins with next to the same widths, one of which
nearly every machine has; the others are narrower, so that text still fits."""

CAP_HEIGHT = 0.73
"""Height of capitals and figures by the size of the type."""

LINE_HEIGHT = 1.3
"""From one base line to the next by the size of the type."""

_UNKNOWN = 1.0
"""Width of a character that the table lacks, by the size of the type: that of a broad letter or a Chinese sign."""


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a line of text is, in the unit of `size`.

    The widths are those of Bitstream Vera Sans, without kerning.
    """
    table = _BOLD if bold else _REGULAR
    return size * sum(table.get(character, _UNKNOWN) for character in text)


def shortened(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """Return a text cut short, with an ellipsis, so that it is no wider than `width`."""
    return cut_short(text, lambda line: text_width(line, size, bold=bold) <= width)


def _table(widths: str, others: dict[str, int]) -> dict[str, float]:
    """Return widths by the size of the type, for the printable characters of ASCII and some others."""
    table = {chr(code): int(width) / 1000 for code, width in enumerate(widths.split(), ord(" "))}
    return table | {character: width / 1000 for character, width in others.items()}


_REGULAR = _table(
    "318 401 460 838 636 950 780 275 390 390 500 838 318 361 318 337 636 636 636 636 636 636 636 636 636 636 "
    "337 337 838 838 838 531 1000 684 686 698 770 632 575 775 752 295 295 656 557 863 748 787 603 787 695 635 "
    "611 732 684 989 685 611 685 390 337 390 838 500 500 613 635 550 635 615 352 635 634 278 278 579 278 974 "
    "634 612 635 635 411 521 392 634 592 818 592 592 525 636 337 636 838",
    {"×": 838, "–": 500, "“": 518, "”": 518, "…": 1000, "·": 318},
)

_BOLD = _table(
    "348 456 521 838 696 1002 872 306 457 457 523 838 380 415 380 365 696 696 696 696 696 696 696 696 696 696 "
    "400 400 838 838 838 580 1000 774 762 734 830 683 683 821 837 372 372 775 637 995 837 850 733 850 770 720 "
    "682 812 774 1103 771 724 725 457 365 457 838 500 500 675 716 593 716 678 435 716 712 343 343 665 343 "
    "1042 712 687 716 716 493 595 478 712 652 924 645 652 582 712 365 712 838",
    {"×": 838, "–": 500, "“": 657, "”": 657, "…": 1000, "·": 380},
)
