"""Finished records kept in an SQLite file, so that no drawing is audited twice.

Every record is written in a transaction of its own as soon as it is there. SQLite's write-ahead log keeps the file
whole when the process is killed at any moment: a record is in it entirely or not at all. Only the process that asks
writes; several audits may share a store.
"""

from __future__ import annotations

import json
import sqlite3
import time
import zlib
from contextlib import closing
from pathlib import Path
from types import TracebackType

from seamtree.auditing.model import Record
from seamtree.errors import SeamtreeError

APPLICATION = 0x5EA47EE5 & 0x7FFFFFFF
"""Marks an SQLite file as a store of records (PRAGMA application_id, a signed 32-bit number)."""

LAYOUT = 1
"""Version of the tables."""

WAIT_SECONDS = 30.0
"""How long to wait for another process that is writing."""

KEPT_DAYS = 90
"""Records that nobody asked for during so many days are dropped."""

_DAY = 86_400

_TABLE = """\
CREATE TABLE IF NOT EXISTS records (
    key TEXT PRIMARY KEY,
    record TEXT NOT NULL,
    pictures BLOB,
    used INTEGER NOT NULL
) WITHOUT ROWID"""


class StoreError(SeamtreeError, OSError):
    """The store cannot be used; the message names its file and says what to do."""


class Store:
    """Records by their key; a context manager that closes the file.

    Parameters
    ----------
    path
        The file; it and its folders are made if they are missing.

    Raises
    ------
    StoreError
        If the file is no store, or cannot be opened or written.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._today = int(time.time()) // _DAY
        self._asked: list[str] = []
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._file = sqlite3.connect(path, timeout=WAIT_SECONDS, isolation_level=None)
        except (OSError, sqlite3.Error) as error:
            raise self._error("cannot be opened", error) from error
        try:
            self._prepare()
        except sqlite3.Error as error:
            self._file.close()
            raise self._error("cannot be used", error) from error
        except StoreError:
            self._file.close()
            raise

    def _prepare(self) -> None:
        application = self._number("application_id")
        with closing(self._file.execute("SELECT count(*) FROM sqlite_master")) as found:
            empty = found.fetchone()[0] == 0
        if application != APPLICATION and not (application == 0 and empty):
            raise StoreError(f"{self.path} is a database of another program; name another file for the store")
        if not empty and self._number("user_version") != LAYOUT:
            raise StoreError(
                f"{self.path} was written by another version of seamtree; delete it or name another file"
            )
        self._file.execute("PRAGMA journal_mode = WAL")
        # With the log, NORMAL outlives the end of any process; only a power cut may take back the last records.
        self._file.execute("PRAGMA synchronous = NORMAL")
        self._file.execute("BEGIN IMMEDIATE")
        self._file.execute(f"PRAGMA application_id = {APPLICATION}")
        self._file.execute(f"PRAGMA user_version = {LAYOUT}")
        self._file.execute(_TABLE)
        self._file.execute("COMMIT")

    def _number(self, pragma: str) -> int:
        with closing(self._file.execute(f"PRAGMA {pragma}")) as found:
            return int(found.fetchone()[0])

    def find(self, key: str, *, pictures: bool) -> Record | None:
        """Return the record of a key, if there is one, and with its pictures if they are wanted.

        Raises
        ------
        StoreError
            If the file cannot be read.
        """
        column = "pictures" if pictures else "NULL"
        query = f"SELECT record, {column} FROM records WHERE key = ?"  # noqa: S608, both names are ours
        try:
            row = self._file.execute(query, (key,)).fetchone()
        except sqlite3.Error as error:
            raise self._error("cannot be read", error) from error
        if row is None or (pictures and row[1] is None):
            return None
        try:
            drawn = tuple(json.loads(zlib.decompress(row[1]))) if pictures else ()
            record = Record.from_json(json.loads(row[0]), drawn)
        except (KeyError, TypeError, ValueError, zlib.error):
            return None  # spoilt, so it is worked out again and replaced
        self._asked.append(key)
        return record

    def keep(self, key: str, record: Record, *, pictures: bool) -> None:
        """Keep a record, with the pictures of its blocks if they were drawn.

        Raises
        ------
        ValueError
            If the record is no final answer.
        StoreError
            If the file cannot be written.
        """
        if not record.final:
            raise ValueError(f"a drawing that is {record.state} has no final answer to keep")
        text = json.dumps(record.to_json(), ensure_ascii=False, separators=(",", ":"))
        drawn = zlib.compress(json.dumps([block.picture for block in record.blocks]).encode()) if pictures else None
        try:
            self._file.execute(
                "INSERT INTO records VALUES (?, ?, ?, ?) ON CONFLICT (key) DO UPDATE SET record = excluded.record, "
                "pictures = coalesce(excluded.pictures, pictures), used = excluded.used",
                (key, text, drawn, self._today),
            )
        except sqlite3.Error as error:
            raise self._error("cannot be written", error) from error

    def close(self) -> None:
        """Note which records were asked for, drop those that nobody has asked for in a long time, close the file."""
        try:
            self._file.execute("BEGIN IMMEDIATE")
            self._file.executemany(
                "UPDATE records SET used = ?1 WHERE key = ?2 AND used < ?1",
                [(self._today, key) for key in self._asked],
            )
            self._file.execute("DELETE FROM records WHERE used < ?", (self._today - KEPT_DAYS,))
            self._file.execute("COMMIT")
        except sqlite3.Error as error:
            raise self._error("cannot be written", error) from error
        finally:
            self._file.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None:
            self.close()
        else:
            self._file.close()

    def _error(self, what: str, error: Exception) -> StoreError:
        reason = getattr(error, "strerror", None) or str(error)
        return StoreError(f"the store {self.path} {what}: {reason}; name another file for it or delete it")
