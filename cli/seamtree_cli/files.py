"""Files that commands write: checked before any work is done, and written whole or not at all."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from seamtree.errors import OptionError, SeamtreeError


def check_target(target: Path, *, what: str, suffix: str, sources: Iterable[str] = ()) -> None:
    """Refuse a file that cannot be written, or that is better not written.

    Parameters
    ----------
    target
        The file.
    what
        What goes into it, for messages: "the mended drawing".
    suffix
        How its name must end.
    sources
        Files that are read and so must not be overwritten.

    Raises
    ------
    OptionError
        If it has another suffix, is a folder or in no folder, or is one of the sources.
    """
    if target.suffix.lower() != suffix:
        kind = suffix[1:].upper()
        article = "an" if kind[0] in "AEFHILMNORSX" else "a"
        raise OptionError(f"{what} is {article} {kind} file, so its name has to end in {suffix}, not {target.name!r}")
    if not target.parent.is_dir():
        raise OptionError(f"there is no folder {str(target.parent)!r} to write {target.name!r} to")
    if target.is_dir():
        raise OptionError(f"{str(target)!r} is a folder")
    if target.exists() and any(Path(source).exists() and target.samefile(source) for source in sources):
        raise OptionError(f"{what} would overwrite the drawing itself; give it another name")


@contextlib.contextmanager
def whole(target: Path) -> Iterator[Path]:
    """Give a draft to write to, which becomes the file when the context ends well and vanishes when it does not.

    Raises
    ------
    SeamtreeError
        If it cannot be written.
    """
    draft = target.with_name(f".{target.stem}.{os.getpid()}{target.suffix}")
    try:
        yield draft
        draft.replace(target)
    except OSError as error:
        raise SeamtreeError(f"{target}: cannot be written: {error.strerror or error}") from error
    finally:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)


def write_whole(target: Path, text: str) -> None:
    """Write a text file whole or not at all.

    Raises
    ------
    SeamtreeError
        If it cannot be written.
    """
    with whole(target) as draft:
        draft.write_text(text, encoding="utf-8", newline="")
