"""Which drawings lie in some places, and what else lies there: nothing is passed over in silence."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from seamtree.auditing.record import SCHEMA, SKIPPED, source_json
from seamtree.errors import OptionError

SUFFIXES = (".svg", ".svgz", ".pdf", ".dxf", ".geojson", ".wkt")
"""File names in a folder that are drawings; other files are audited only if they are named."""

Reason = Literal["no permission", "linked folder", "loop of links", "seen before", "hidden", "other suffix"]
"""Why something in a folder is skipped."""

REASONS: tuple[Reason, ...] = (
    "no permission",
    "linked folder",
    "loop of links",
    "seen before",
    "hidden",
    "other suffix",
)
"""From what has to be seen to first to what is as it should be."""


@dataclass(frozen=True, slots=True)
class Skipped:
    """A file or folder that is not audited, and why; what lies in a folder that is skipped is not counted."""

    path: str
    reason: Reason

    def to_json(self) -> dict[str, Any]:
        """Return it as plain data, in the layout of records."""
        return {
            "schema": SCHEMA,
            **source_json(self.path),
            "state": SKIPPED,
            "reason": self.reason,
            "faults": [],
            "blocks": [],
        }


@dataclass(frozen=True, slots=True)
class Found:
    """The drawings in some places, each once, and all that was skipped there."""

    drawings: tuple[str, ...]
    skipped: tuple[Skipped, ...] = ()


def find_drawings(places: Iterable[str]) -> list[str]:
    """List the drawings in files and below folders (see `search_places`)."""
    return list(search_places(places).drawings)


def search_places(places: Iterable[str], *, follow_links: bool = False) -> Found:
    """Find the drawings in files and below folders, each once: in the order given, those of a folder by name.

    Parameters
    ----------
    places
        Files, which are drawings whatever their names, and folders.
    follow_links
        Whether to look into folders that are linked. Each folder is looked into once, so loops come to an end; a
        folder that lies below a place itself comes before a link to it.

    Raises
    ------
    OptionError
        If there is no drawing at all below a folder.
    """
    search = _Search(follow_links=follow_links)
    for place in places:
        if Path(place).is_dir():
            search.look_below(place)
        else:
            search.drawings[place] = None
    return Found(tuple(search.drawings), tuple(search.skipped.values()))


class _Search:
    """What has been found so far."""

    def __init__(self, *, follow_links: bool) -> None:
        self.drawings: dict[str, None] = {}
        self.skipped: dict[str, Skipped] = {}
        self._follow_links = follow_links
        self._seen: dict[tuple[int, int], Path] = {}

    def look_below(self, place: str) -> None:
        """Look through a folder, then through what is linked from it."""
        found: list[Path] = []
        links: deque[Path] = deque()
        self._walk(Path(place), found, links)
        while links:
            link = links.popleft()
            if self._is_loop(link):
                self._skip(link, "loop of links")
            else:
                self._walk(link, found, links)
        if not found:
            reason = self.skipped.get(place)
            why = "it cannot be read" if reason else f"files that end in {', '.join(SUFFIXES)}"
            raise OptionError(f"there are no drawings below {place} ({why})")
        self.drawings.update(dict.fromkeys(map(str, sorted(found))))

    def _walk(self, top: Path, found: list[Path], links: deque[Path]) -> None:
        folders = [top]
        while folders:
            folder = folders.pop()
            try:
                entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
                about = folder.stat()
            except OSError:
                self._skip(folder, "no permission")
                continue
            before = self._seen.setdefault((about.st_dev, about.st_ino), folder)
            if self._follow_links and before != folder:
                self._skip(folder, "seen before")
                continue
            folders += self._sort_out(folder, entries, found, links)

    def _sort_out(
        self, folder: Path, entries: list[os.DirEntry[str]], found: list[Path], links: deque[Path]
    ) -> list[Path]:
        """Tell drawings from what is skipped; return the folders to look into."""
        folders = []
        for entry in entries:
            path = folder / entry.name
            if entry.name.startswith("."):
                self._skip(path, "hidden")
            elif entry.is_dir(follow_symlinks=False):
                folders.append(path)
            elif _is_folder(entry):
                if self._follow_links:
                    links.append(path)
                else:
                    self._skip(path, "linked folder")
            elif entry.name.lower().endswith(SUFFIXES):
                found.append(path)
            else:
                self._skip(path, "other suffix")
        return folders

    def _skip(self, path: Path, reason: Reason) -> None:
        self.skipped[str(path)] = Skipped(str(path), reason)

    @staticmethod
    def _is_loop(link: Path) -> bool:
        """Tell whether a link leads to a folder that it lies in."""
        target, home = os.path.realpath(link), os.path.realpath(link.parent)
        return os.path.commonpath([target, home]) == target


def _is_folder(entry: os.DirEntry[str]) -> bool:
    """Tell whether a link leads to a folder."""
    try:
        return entry.is_dir()
    except OSError:  # a loop of links that ends nowhere
        return False
