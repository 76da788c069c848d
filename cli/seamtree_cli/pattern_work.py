"""Pattern files on the command line: their blocks put together, and a file to start from."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from seamtree.errors import DrawingError, OptionError, SeamtreeError
from seamtree_cli.work import STDIN, Job, is_pattern

if TYPE_CHECKING:  # other commands start without what is needed for paper
    from seamtree.pattern import Work
    from seamtree.pattern.pattern_file import PatternFile
    from seamtree.planning.model import Plan


def put_together(file: PatternFile, plans: Sequence[Sequence[Plan]], job: Job) -> Work:
    """Return the pattern that a pattern file makes of its drawings.

    Parameters
    ----------
    file
        What it says.
    plans
        Of the blocks of each drawing in each of its sizes, in the order of the file.
    job
        How the drawings were read, see `pattern_jobs`.

    Raises
    ------
    SeamtreeError
        If file and drawings do not fit each other.
    """
    from seamtree.pattern import BlockWork, build_work

    entries = [(entry, width) for entry in file.blocks for width in entry.widths]
    blocks = []
    for (entry, width), some, one in zip(entries, plans, pattern_jobs(file, job), strict=True):
        if width is not None and any(note.code == "healed" for plan in some for note in plan.block.notes):
            with contextlib.suppress(DrawingError):  # what cannot be sewn as drawn may be sewn larger
                as_drawn = one._replace(width=None).read()
                file.check_size(entry, width, [plan.block for plan in some], as_drawn)
        for number, plan in enumerate(some, 1):
            file.check_block(entry, plan.block)
            title = plan.block.name
            if entry.title:
                title = f"{entry.title} {number}" if len(some) > 1 else entry.title
            if len(entry.widths) > 1:
                title += f", {plan.block.width:g} in" if width is not None else ", as drawn"
            blocks.append(BlockWork(plan, title, entry.copies, entry.mirrored))
    file.check_fabrics({patch.fabric for block in blocks for patch in block.plan.block.patches})
    work = build_work(
        blocks, title=file.title, given=file.fabrics, by=file.by, notes=file.notes, setting=file.setting
    )
    file.check_setting(work)
    return work


def put_drawings_together(plans: Sequence[Plan], copies: int, output: Path | None) -> Work:
    """Return the pattern that the blocks of some drawings make without a pattern file, titled by what they have."""
    from seamtree.pattern import BlockWork, build_work

    names = [plan.block.name for plan in plans]
    stems = {name.rpartition(" ")[0] or name for name in names}
    title = names[0] if len(names) == 1 else stems.pop() if len(stems) == 1 else "pattern"
    if len(names) > 1 and len(stems) > 1 and output is not None:
        title = output.stem
    return build_work([BlockWork(plan, plan.block.name, copies) for plan in plans], title=title)


def open_pattern(source: str) -> PatternFile:
    """Read a pattern file.

    Raises
    ------
    SeamtreeError
        If it cannot be read, or something in it is wrong.
    """
    from seamtree.pattern.pattern_file import parse_pattern

    try:
        return parse_pattern(Path(source))
    except OSError as error:
        raise SeamtreeError(f"{source}: cannot be read: {error.strerror or error}") from error


def pattern_jobs(file: PatternFile, job: Job) -> list[Job]:
    """Return what is to be done for a pattern file: each drawing in each of its sizes, otherwise as `job` says."""
    return [
        job._replace(
            source=str(entry.drawing),
            width=wide,
            skip_layers=(*job.skip_layers, *entry.skip_layers),
            called=f"{file.path}: line {entry.line}: {entry.drawing.name}",
        )
        for entry in file.blocks
        for wide in entry.widths
    ]


def print_to_start_from(jobs: Sequence[Job]) -> None:
    """Print a pattern file for some drawings."""
    from seamtree.pattern.pattern_file import print_pattern

    if any(is_pattern(job.source) or job.source == STDIN for job in jobs):
        raise OptionError("a pattern file is printed for drawings that are files")
    read = [(job.source, job.read()) for job in jobs]
    sys.stdout.write(print_pattern(read, title=Path(jobs[0].source).stem))
