"""What a drawing comes to, for comparing files of one drawing in different formats."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path
from typing import NamedTuple

import seamtree
from seamtree.errors import DrawingError

SAMPLES = Path(__file__).parents[2] / "samples"


class Answer(NamedTuple):
    """The answer for one block."""

    verdict: str
    patches: int
    size: tuple[float, float]
    fabrics: tuple[tuple[str | None, int], ...]
    labels: tuple[str | None, ...]


def answers(path: Path, **options: object) -> list[Answer] | set[str]:
    """Return the answers for all blocks of a file, or the codes of its faults."""
    try:
        blocks = seamtree.read(path, **options)  # type: ignore[arg-type]
    except DrawingError as error:
        return {finding.code for finding in error.findings}
    return [_answer(block) for block in blocks]


def _answer(block: seamtree.Block) -> Answer:
    plan = seamtree.plan(block, time_limit=2)
    told = plan.to_json()
    fabrics = Counter(patch["fabric"] for patch in told["patches"])
    return Answer(
        plan.verdict,
        len(told["patches"]),
        (round(block.width, 2), round(block.height, 2)),
        tuple(sorted(fabrics.items(), key=str)),
        tuple(sorted((patch["label"] for patch in told["patches"]), key=str)),
    )


@cache
def answers_of_sample(name: str) -> list[Answer] | set[str]:
    """Return the answers for the sample of a name; several programs have saved it."""
    return answers(sample(name))


def sample(name: str) -> Path:
    """Return the sample of a name."""
    return next(path for folder in (SAMPLES, SAMPLES / "catalogue") for path in folder.glob(f"{name}.svg"))
