"""A shop kept in one SQLite file: how it is opened, how writers queue, and what its errors mean."""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, NullPool, QueuePool, create_engine, event
from sqlalchemy.exc import DBAPIError

from stockroom.domain.refusal import Refusal
from stockroom.store.turns import TooLong, turn

_BEGIN = {"write": "BEGIN IMMEDIATE", "read": "BEGIN", "upgrade": "BEGIN IMMEDIATE"}
_PRAGMAS = {
    # Without recursive_triggers, INSERT OR REPLACE would delete a movement behind the back of its triggers.
    "write": ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON", "recursive_triggers = ON"),
    "read": ("query_only = ON",),
    # Rebuilding a table drops the old one, which must not take the rows that refer to it along.
    "upgrade": ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = OFF"),
}


class SqliteDatabase:
    """One SQLite file, with the lock file `NAME-turns` beside it."""

    def __init__(self, path: Path, wait_s: float) -> None:
        # One shop has one queue, by whatever link it is reached.
        self.path = path.resolve()
        self.name = f"'{path}'"
        self._wait_s = wait_s

    def engine(self, way: str) -> Engine:
        """An engine for one `way` of working: 'write', 'read' or 'upgrade'. Nothing is opened yet."""
        engine = create_engine(
            "sqlite+pysqlite://",
            creator=lambda: self._connect(_PRAGMAS[way]),
            poolclass=NullPool if way == "upgrade" else QueuePool,
        )
        begin = _BEGIN[way]

        @event.listens_for(engine, "begin")
        def _begin(connection: Connection) -> None:
            # The driver would begin by itself, and only at the first write: two who had read the same could both write.
            driver = connection.connection.driver_connection
            assert driver is not None
            driver.execute(begin)

        return engine

    def _connect(self, pragmas: tuple[str, ...]) -> sqlite3.Connection:
        # mode=rw: a mistyped path must not make an empty shop.
        link = sqlite3.connect(
            f"{self.path.as_uri()}?mode=rw",
            uri=True,
            isolation_level=None,
            timeout=self._wait_s,
            check_same_thread=False,
        )
        try:
            for pragma in pragmas:
                link.execute(f"PRAGMA {pragma}")
        except BaseException:
            link.close()
            raise
        return link

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Stand next in line to write while the block begins its transaction; refused when it takes too long."""
        try:
            with turn(self.path.with_name(f"{self.path.name}-turns"), self._wait_s):
                yield
        except TooLong as error:
            raise Refusal(self._busy()) from error
        except OSError as error:
            raise self._no_rights(error) from error

    def exists(self) -> bool:
        """Whether there is anything at the path."""
        return os.path.exists(self.path)

    def must_be_there(self) -> None:
        """Refuse a path with no file behind it."""
        try:
            mode = self.path.stat().st_mode
        except (FileNotFoundError, NotADirectoryError) as error:
            raise Refusal(f"There is no shop at {self.name}. Check the path, or make a new shop first.") from error
        except OSError as error:
            raise Refusal(f"The shop at {self.name} cannot be opened ({error.strerror}). {_ASK_FOR_RIGHTS}") from error
        if stat.S_ISDIR(mode):
            raise Refusal(f"{self.name} is a folder, not a shop. Name the shop's file in it, such as shop.db.")
        if not stat.S_ISREG(mode):
            raise Refusal(self._no_shop())

    @contextmanager
    def making(self) -> Iterator[None]:
        """Take the path for a new shop; refused where something is there. Left empty if the block does not finish."""
        try:
            os.close(os.open(self.path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o666))
        except FileExistsError as error:
            raise Refusal(
                f"There is something at {self.name} already. Choose another path for the new shop; nothing was touched."
            ) from error
        except OSError as error:
            raise Refusal(
                f"No shop can be made at {self.name} ({error.strerror}). Choose a folder that exists and that you may "
                "write in."
            ) from error
        try:
            yield
        except BaseException:
            for ending in ("", "-wal", "-shm", "-turns"):
                self.path.with_name(self.path.name + ending).unlink(missing_ok=True)
            raise

    def prepare_to_make(self, connection: Connection) -> None:
        """Nothing to do: `making` took the path."""

    def prepare_to_upgrade(self, connection: Connection) -> None:
        """Nothing to do: BEGIN IMMEDIATE keeps every other writer out already."""

    def keep_copy(self, version: int) -> str:
        """Copy the shop as it was committed last into `NAME-before-upgrade-VERSION.db`, beside it; a copy that is there
        already stays and the new one gets a number. Returns the sentence which says where it is.
        """
        try:
            copy = self._free_name(f"{self.path.stem}-before-upgrade-{version}")
        except OSError as error:
            raise self._no_rights(error) from error
        try:
            source = sqlite3.connect(f"{self.path.as_uri()}?mode=ro", uri=True, timeout=self._wait_s)
            with closing(source), closing(sqlite3.connect(copy)) as target:
                source.backup(target)
        except BaseException:
            copy.unlink(missing_ok=True)
            raise
        return f"The shop as it was before is kept at '{copy}'."

    def _free_name(self, stem: str) -> Path:
        number = 1
        while True:
            path = self.path.with_name(f"{stem}{'' if number == 1 else f'-{number}'}.db")
            try:
                os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o666))
            except FileExistsError:
                number += 1
            else:
                return path

    def check_upgraded(self, connection: Connection) -> None:
        """Refuse rows that refer to nothing: foreign keys were off while the tables changed."""
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if broken:
            tables = ", ".join(sorted({row[0] for row in broken}))
            raise Refusal(f"Rows of {tables} in the shop at {self.name} would refer to rows that are not there.")

    def is_missing_table(self, error: DBAPIError) -> bool:
        """Whether the error says that a table or a column is not there."""
        return "no such" in str(error.orig)

    def sentence(self, error: BaseException) -> str | None:
        """What a person should read for this error of SQLite, or None if it is a fault of the program."""
        code = getattr(error, "sqlite_errorcode", None)
        if code is None:
            return None
        # The low byte is the kind of error; the rest says more than a person needs.
        match code & 0xFF:
            case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
                return self._busy()
            case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM:
                return f"The shop at {self.name} can be read but not written, so nothing has changed. {_ASK_FOR_RIGHTS}"
            case sqlite3.SQLITE_CANTOPEN:
                return f"The shop at {self.name} cannot be opened. {_ASK_FOR_RIGHTS}"
            case sqlite3.SQLITE_FULL:
                return (
                    f"The disk is too full to write to the shop at {self.name}, so nothing has changed. "
                    "Make room and try again."
                )
            case sqlite3.SQLITE_NOTADB:
                return self._no_shop()
            case sqlite3.SQLITE_CORRUPT:
                return (
                    f"The shop at {self.name} is damaged. Work no further with it: keep the file as it is and go back "
                    "to the newest copy."
                )
            case sqlite3.SQLITE_IOERR:
                return (
                    f"The disk failed while the shop at {self.name} was used ({error}), so nothing has changed. "
                    "Check that the disk is there and has room, then try again."
                )
        return None

    def _no_shop(self) -> str:
        return f"{self.name} is not a stockroom shop. Check the path; the file was not touched."

    def _busy(self) -> str:
        return (
            f"Somebody else has been writing to the shop at {self.name} for more than {self._wait_s:g} seconds. "
            "Nothing has changed; try again when they are done."
        )

    def _no_rights(self, error: OSError) -> Refusal:
        return Refusal(f"Nothing can be written beside the shop at {self.name} ({error.strerror}). {_ASK_FOR_RIGHTS}")


_ASK_FOR_RIGHTS = "Check that you may read and write the file and the folder it is in."
