"""Finished records kept in an SQLite file, so that no drawing is audited twice.

Every record is written in a transaction of its own as soon as it is there. SQLite's write-ahead log keeps the file
whole when the process is killed at any moment: a record is in it entirely or not at all. A checksum over key, record
and pictures stands beside each; where it does not match, the record is as none. Only the process that asks writes;
several audits may share a store: each claims a drawing before it works on it, and the claims of an audit that is gone
count no more.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import socket
import sqlite3
import time
import uuid
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from types import TracebackType
from typing import Any, TypeVar

from seamtree.auditing.record import Record
from seamtree.errors import SeamtreeError

T = TypeVar("T")

APPLICATION = 0x5EA47EE5 & 0x7FFFFFFF
"""Marks an SQLite file as a store of records (PRAGMA application_id, a signed 32-bit number)."""

LAYOUT = 2
"""Version of the tables."""

WAIT_SECONDS = 30.0
"""How long to wait for another process that is writing."""

KEPT_DAYS = 90
"""Records that nobody asked for during so many days are dropped."""

BEAT_SECONDS = 2.0
"""How often an audit shows that it is alive."""

STALE_SECONDS = 30.0
"""An audit that has not shown that it is alive for so long is gone."""

_DAY = 86_400

_TABLES = (
    """CREATE TABLE IF NOT EXISTS records (
    key TEXT PRIMARY KEY,
    record BLOB NOT NULL,
    pictures BLOB,
    checksum BLOB NOT NULL,
    used INTEGER NOT NULL
) WITHOUT ROWID""",
    "CREATE TABLE IF NOT EXISTS audits (id TEXT PRIMARY KEY, host TEXT, process INTEGER, beat INTEGER) WITHOUT ROWID",
    "CREATE TABLE IF NOT EXISTS claims (key TEXT PRIMARY KEY, audit TEXT NOT NULL) WITHOUT ROWID",
)

SPOILT = "was spoilt"

_MEANWHILE = (
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_NOMEM,
    sqlite3.SQLITE_INTERRUPT,
)
"""What SQLite says of the machine; all else, when our own statements fail, is a file that is spoilt."""


class StoreError(SeamtreeError, OSError):
    """The store cannot be used; the message names its file and says what to do."""


class Store:
    """Records by their key; a context manager that closes the file.

    Parameters
    ----------
    path
        The file; it and its folders are made if they are missing.
    ours
        Whether nobody chose this file, as in the cache folder: one that cannot be used is set aside then.

    Attributes
    ----------
    notes
        What happened to the file, for whoever asked.

    Raises
    ------
    StoreError
        If the file is no store, or cannot be opened or written.
    """

    def __init__(self, path: Path, *, ours: bool = False) -> None:
        self.path = path
        self.notes: list[str] = []
        self._today = int(time.time()) // _DAY
        self._asked: list[str] = []
        self._id = uuid.uuid4().hex
        self._beaten = time.monotonic()
        self._seen: dict[str, tuple[int, float]] = {}
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise self._error("cannot be opened", error) from error
        try:
            self._open()
        except StoreError as error:
            if not isinstance(error, _UnusableError) or not (ours or (error.spoilt and self._is_marked())):
                raise
            self._set_aside(error.reason)

    def _open(self) -> None:
        try:
            self._file = sqlite3.connect(self.path, timeout=WAIT_SECONDS, isolation_level=None)
        except sqlite3.Error as error:
            raise self._error("cannot be opened", error) from error
        self._file.text_factory = bytes  # text that is spoilt cannot be decoded
        try:
            self._prepare()
        except (sqlite3.Error, UnicodeError) as error:
            self._file.close()
            if _is_spoilt(error):
                raise _UnusableError(str(self._error("cannot be used", error)), SPOILT) from error
            raise self._error("cannot be used", error) from error
        except StoreError:
            self._file.close()
            raise

    def _prepare(self) -> None:
        application = self._number("PRAGMA application_id")
        empty = self._number("SELECT count(*) FROM sqlite_master") == 0
        if application != APPLICATION and not (application == 0 and empty):
            raise _UnusableError(
                f"{self.path} is a database of another program; name another file for the store",
                "is a database of another program",
            )
        if not empty and self._number("PRAGMA user_version") != LAYOUT:
            raise _UnusableError(
                f"{self.path} was written by another version of seamtree; delete it or name another file",
                "was written by another version of seamtree",
            )
        self._file.execute("PRAGMA journal_mode = WAL")
        # With the log, NORMAL outlives the end of any process; only a power cut may take back the last records.
        self._file.execute("PRAGMA synchronous = NORMAL")
        with self._change():
            self._file.execute(f"PRAGMA application_id = {APPLICATION}")
            self._file.execute(f"PRAGMA user_version = {LAYOUT}")
            for table in _TABLES:
                self._file.execute(table)
            about = (self._id, socket.gethostname(), os.getpid())
            self._file.execute("INSERT INTO audits VALUES (?, ?, ?, 0)", about)

    def _is_marked(self) -> bool:
        """Tell whether the file says that it is a store, at the place where SQLite's file format has it."""
        try:
            with self.path.open("rb") as file:
                return file.read(72)[68:] == APPLICATION.to_bytes(4, "big")
        except OSError:
            return False

    def _number(self, query: str) -> int:
        with closing(self._file.execute(query)) as found:
            return int(found.fetchone()[0])

    @contextlib.contextmanager
    def _change(self) -> Iterator[None]:
        """Make some changes together or none of them."""
        self._file.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._file.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error, UnicodeError):
                self._file.execute("ROLLBACK")
            raise

    def _do(self, what: str, work: Callable[[], T]) -> T:
        """Do something with the file; if it is spoilt it is set aside, and it is done with a new one."""
        for again in (True, False):
            try:
                return work()
            except (sqlite3.Error, UnicodeError) as error:
                if not again or not _is_spoilt(error):
                    raise self._error(what, error) from error
                self._set_aside(SPOILT)
        raise AssertionError("never reached")

    def _set_aside(self, reason: str) -> None:
        """Give the file another name and begin a new one."""
        with contextlib.suppress(sqlite3.Error, UnicodeError):
            self._file.close()
        number = 1
        while (aside := self.path.with_name(f"{self.path.name}.aside-{number}")).exists():
            number += 1
        try:
            for tail in ("-wal", "-shm", ""):  # the log belongs to its file
                with contextlib.suppress(FileNotFoundError):
                    self.path.with_name(self.path.name + tail).rename(aside.with_name(aside.name + tail))
        except OSError as error:
            raise self._error(f"{reason} and cannot be set aside", error) from error
        self._open()
        self.notes.append(
            f"the store {self.path} {reason}; it was set aside as {aside.name}, and what it held is done again"
        )

    def find(self, key: str, *, pictures: bool) -> Record | None:
        """Return the record of a key, if there is one, and with its pictures if they are wanted.

        Raises
        ------
        StoreError
            If the file cannot be read.
        """
        row = self._do("cannot be read", lambda: self._row(key))
        if row is None or (pictures and row[1] is None):
            return None
        try:
            drawn = tuple(json.loads(zlib.decompress(row[1]))) if pictures and row[1] is not None else ()
            record = Record.from_json(json.loads(row[0]), drawn)
        except (KeyError, TypeError, ValueError, zlib.error):
            return None  # not as this program writes it
        self._asked.append(key)
        return record

    def _row(self, key: str) -> tuple[bytes, bytes | None] | None:
        """Return record and pictures of a key as they are kept; None if there are none or they are spoilt."""
        row = self._file.execute("SELECT record, pictures, checksum FROM records WHERE key = ?", (key,)).fetchone()
        if row is None:
            return None
        record, drawn, checksum = row
        if not isinstance(record, bytes) or not isinstance(drawn, bytes | None):
            return None
        return (record, drawn) if checksum == _checksum(key, record, drawn) else None

    def keep(self, key: str, record: Record, *, pictures: bool) -> None:
        """Keep a record, with the pictures of its blocks if they were drawn; it is claimed no more.

        Raises
        ------
        ValueError
            If the record is no final answer.
        StoreError
            If the file cannot be written.
        """
        if not record.final:
            raise ValueError(f"a drawing that is {record.state} has no final answer to keep")
        text = json.dumps(record.to_json(whole=True), separators=(",", ":")).encode()
        drawn = zlib.compress(json.dumps([block.picture for block in record.blocks]).encode()) if pictures else None
        self._do("cannot be written", lambda: self._write(key, text, drawn))

    def _write(self, key: str, record: bytes, drawn: bytes | None) -> None:
        """Write a row; pictures that are there already stay if none were drawn."""
        with self._change():
            before = self._row(key)
            if drawn is None and before is not None:
                drawn = before[1]
            row = (key, record, drawn, _checksum(key, record, drawn), self._today)
            self._file.execute("INSERT OR REPLACE INTO records VALUES (?, ?, ?, ?, ?)", row)
            self._file.execute("DELETE FROM claims WHERE key = ?", (key,))

    # -- sharing the work -------------------------------------------------------------------------------------

    def claim(self, key: str) -> bool:
        """Claim a key to work on it; not if another audit that is alive has claimed it.

        Raises
        ------
        StoreError
            If the file cannot be written.
        """
        return self._do("cannot be written", lambda: self._claim(key))

    def _claim(self, key: str) -> bool:
        with self._change():
            row = self._file.execute("SELECT audit FROM claims WHERE key = ?", (key,)).fetchone()
            owner = row[0].decode(errors="replace") if row is not None and isinstance(row[0], bytes) else self._id
            if owner != self._id and self._lives(owner):
                return False
            self._file.execute("INSERT OR REPLACE INTO claims VALUES (?, ?)", (key, self._id))
        return True

    def release(self, key: str) -> None:
        """Give up a claim: there is no answer to keep."""
        statement = "DELETE FROM claims WHERE key = ? AND audit = ?"
        self._do("cannot be written", lambda: self._file.execute(statement, (key, self._id)))

    def beat(self) -> None:
        """Show from time to time that this audit is alive."""
        if time.monotonic() - self._beaten >= BEAT_SECONDS:
            self._beaten = time.monotonic()
            statement = "UPDATE audits SET beat = beat + 1 WHERE id = ?"
            self._do("cannot be written", lambda: self._file.execute(statement, (self._id,)))

    def _lives(self, audit: str) -> bool:
        """Tell whether another audit is alive; clocks of machines differ, so only changes of its beat count."""
        row = self._file.execute("SELECT host, process, beat FROM audits WHERE id = ?", (audit,)).fetchone()
        if row is None:
            return False
        host, process, beat = row
        if host == socket.gethostname().encode() and not _runs(process):
            return False
        known = self._seen.get(audit)
        if known is None or known[0] != beat:
            self._seen[audit] = (beat, time.monotonic())
            return True
        return time.monotonic() - known[1] < STALE_SECONDS

    def close(self) -> None:
        """Note which records were asked for, drop those that nobody has asked for in a long time, close the file.

        Raises
        ------
        StoreError
            If the file cannot be written.
        """
        try:
            self._do("cannot be written", self._tidy)
        finally:
            self._file.close()

    def _tidy(self) -> None:
        with self._change():
            self._file.executemany(
                "UPDATE records SET used = ?1 WHERE key = ?2 AND used < ?1",
                [(self._today, key) for key in self._asked],
            )
            self._file.execute("DELETE FROM records WHERE used < ?", (self._today - KEPT_DAYS,))
            gone = [
                (found,)
                for (found,) in self._file.execute("SELECT id FROM audits").fetchall()
                if found == self._id.encode() or not self._lives(found.decode(errors="replace"))
            ]
            self._file.executemany("DELETE FROM audits WHERE CAST(id AS BLOB) = ?", gone)
            self._file.execute("DELETE FROM claims WHERE audit NOT IN (SELECT id FROM audits)")

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None:
            self.close()
        else:
            with contextlib.suppress(StoreError):  # what went wrong before says more
                self.close()

    def _error(self, what: str, error: Exception) -> StoreError:
        reason = getattr(error, "strerror", None) or str(error)
        return StoreError(f"the store {self.path} {what}: {reason}; name another file for it or delete it")


class _UnusableError(StoreError):
    """The file is there but is no store of this version; `reason` says why in a few words."""

    def __init__(self, message: str, reason: str) -> None:
        super().__init__(message)
        self.reason = reason

    @property
    def spoilt(self) -> bool:
        """Whether the file is no database any more."""
        return self.reason == SPOILT


def _checksum(key: str, record: bytes, pictures: bytes | None) -> bytes:
    """Return a digest of all that belongs together in a row."""
    parts: tuple[Any, ...] = (key.encode(), record, b"" if pictures is None else b"+" + pictures)
    digest = hashlib.sha256()
    for part in parts:
        digest.update(len(part).to_bytes(8, "big") + part)
    return digest.digest()


def _is_spoilt(error: Exception) -> bool:
    """Tell whether an error is one of the file itself; SQLite's words may quote what is no text any more."""
    code = getattr(error, "sqlite_errorcode", None)
    return code is None or (code & 0xFF) not in _MEANWHILE


def _runs(process: Any) -> bool:
    """Tell whether a process of this machine runs, as far as that can be told."""
    if os.name != "posix" or not isinstance(process, int) or process <= 0:
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True
