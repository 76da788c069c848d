"""Files that are read again whenever they are saved.

Editors save in many ways: they write over a file, put a new one in its place, write it twice, hold it locked or
empty meanwhile. So it is the folders that are watched; a file counts as saved when its content is another than
before, and it is looked at only when it has held still for a moment.
"""

from __future__ import annotations

import contextlib
import hashlib
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

_STILL_MS = 40
"""Milliseconds without any change in the folder before it is looked at."""

_LONGEST_MS = 150
"""Milliseconds after which it is looked at even if it never holds still."""

_LOOK_MS = 1000
"""Milliseconds after which it is looked at without a change being told: network drives may tell none."""

_ALONE = 0.2
"""Seconds from look to look where nothing can be watched."""

_STILL = 0.02
"""Seconds between two looks at a file that have to see the same."""

_PATIENCE = 0.15
"""Seconds that a file may be empty, locked or away before that is how it is."""

_Stamp = tuple[int, int, int] | None
_Digest = bytes | None


def watch_files(files: Callable[[], Sequence[Path]]) -> Iterator[frozenset[Path]]:
    """Yield which files have other content than at the last look, each time that some have; never ends.

    The first look is taken when this is called, so whatever is saved from then on is told.

    Parameters
    ----------
    files
        Returns the files; called again after each change, for a file may name others.
    """
    return _changes(files, _Looks(files()))


def _changes(files: Callable[[], Sequence[Path]], looks: _Looks) -> Iterator[frozenset[Path]]:
    while True:
        folders = looks.folders()
        for _ in _stirrings(folders):
            changed = looks.changed()
            if changed:
                yield changed
                looks.follow(files())
            if looks.folders() != folders:  # other files, or a folder that has been made anew
                break


class _Looks:
    """What was seen of some files when they were last looked at."""

    def __init__(self, paths: Sequence[Path]) -> None:
        self._seen: dict[Path, tuple[_Stamp, _Digest]] = {}
        self.follow(paths)

    def follow(self, paths: Sequence[Path]) -> None:
        """Look at these files from now on; those that are new have their first look."""
        self._seen = {path: self._seen.get(path) or (_stamp(path), _digest(path)) for path in paths}

    def folders(self) -> dict[Path, int]:
        """Return the folders to watch, also those that links lead to, and what tells each from one made anew."""
        found = {folder for path in self._seen for folder in (path.absolute().parent, path.resolve().parent)}
        return {folder: folder.stat().st_ino for folder in sorted(found) if folder.is_dir()}

    def changed(self) -> frozenset[Path]:
        """Return the files whose content is another than before."""
        found = set()
        for path, (stamp, digest) in self._seen.items():
            if _stamp(path) != stamp:
                now = _settled(path)
                self._seen[path] = now
                if now[1] != digest:
                    found.add(path)
        return frozenset(found)


def _stirrings(folders: dict[Path, int]) -> Iterator[object]:
    """Yield when something in the folders has changed and it has been still since, and once in a while anyway."""
    yield None  # what was saved before the watching began
    if folders:
        from watchfiles import watch

        with contextlib.suppress(OSError, RuntimeError):  # the system may have no more watches to give
            yield from watch(
                *folders,
                watch_filter=None,
                debounce=_LONGEST_MS,
                step=_STILL_MS,
                rust_timeout=_LOOK_MS,
                yield_on_timeout=True,
                recursive=False,
                ignore_permission_denied=True,
            )
    while True:
        time.sleep(_ALONE)
        yield None


def _settled(path: Path) -> tuple[_Stamp, _Digest]:
    """Return what a file is once two looks see the same content, or none for as long as patience lasts."""
    end = time.monotonic() + _PATIENCE
    before = _digest(path)
    while True:
        time.sleep(_STILL)
        stamp, now = _stamp(path), _digest(path)
        if (now == before and now is not None) or time.monotonic() > end:
            return stamp, now
        before = now


def _stamp(path: Path) -> _Stamp:
    """Return what the system knows of a file; None where there is none."""
    try:
        known = path.stat()
    except OSError:
        return None
    return known.st_mtime_ns, known.st_size, known.st_ino


def _digest(path: Path) -> _Digest:
    """Return what tells the content of a file from any other; None if it is empty or cannot be read."""
    try:
        content = path.read_bytes()
    except OSError:
        return None
    return hashlib.sha256(content).digest() if content else None
