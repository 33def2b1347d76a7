"""A shop's database, opened: transactions to read and to write, and the law of upgrades.

    with Shop.open("shop.db") as shop:
        with shop.write() as tx:                 # one job, one transaction
            lock_rows(tx, Holding.__table__, ids)
            tx.execute(...)

A write transaction is committed when its block ends, and undone when anything is raised in it, Ctrl-C included. What it
has committed survives a power cut. A read transaction sees one moment of the shop, whatever others commit meanwhile.

On PostgreSQL a deadlock or a lost race is not tried again behind the job's back: the job is refused, nothing has
changed, and whoever asked decides.
"""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Self, TypeAlias

from sqlalchemy import (
    Connection,
    Engine,
    FromClause,
    Index,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    UniqueConstraint,
    event,
    make_url,
    select,
    text,
)
from sqlalchemy.exc import ArgumentError, DBAPIError, IntegrityError

from stockroom.domain.refusal import Refusal
from stockroom.store.postgres import PostgresDatabase
from stockroom.store.sqlite import SqliteDatabase
from stockroom.store.tables import SCHEMA, TRIGGERS
from stockroom.store.types import Base

Tx: TypeAlias = Connection
"""A transaction that has begun: SQLAlchemy Core's connection. Jobs pass it on; only this room uses it."""

WAIT_S = 20.0
"""How long a writer waits for others before it is refused, in seconds."""

_Database = SqliteDatabase | PostgresDatabase


class Shop:
    """An open shop. `close` it, or use it as a context manager. It may be used by several threads at once."""

    upgraded: str | None = None
    """What to tell the person when opening upgraded the shop, and how to go back; None if it did not."""

    def __init__(self, database: _Database) -> None:
        self.version = SCHEMA
        self._database = database
        self._writing = database.engine("write")
        self._reading = database.engine("read")

    @classmethod
    def open(cls, where: str | os.PathLike[str], *, must_exist: bool = True, wait_s: float = WAIT_S) -> Shop:
        """Open the shop at a path, or at a `postgresql+psycopg://` URL, and upgrade it if it is older than the program.

        An older SQLite shop is copied beside itself first. Writers wait `wait_s` seconds for each other.
        Refused: no shop there (unless `must_exist` is False: then it is made), something that is not a shop, a shop of
        a newer program, a database that cannot be reached.
        """
        database = _database(where, wait_s)
        with _plainly(database):
            if not must_exist and not database.exists():
                return cls.make(where, wait_s=wait_s)
            database.must_be_there()
            shop = cls(database)
            try:
                with shop._reading.connect() as connection:
                    version = _version(database, connection)
                if version > SCHEMA:
                    raise Refusal(
                        f"The shop at {database.name} was written by a newer stockroom (its version is {version}, this "
                        f"program knows {SCHEMA}). Install the newer stockroom; the shop was not touched."
                    )
                if version < SCHEMA:
                    shop.upgraded = _upgrade(database)
            except BaseException:
                shop.close()
                raise
            return shop

    @classmethod
    def make(cls, where: str | os.PathLike[str], *, wait_s: float = WAIT_S) -> Shop:
        """Make an empty shop and open it: every table of the newest version, no rows (not even `about`).

        Refused where there is something already; what was begun is taken away again if it cannot be finished. A
        PostgreSQL database must be there and hold no tables.
        """
        from stockroom.store.upgrade import migrate

        database = _database(where, wait_s)
        with _plainly(database), database.making():
            with _upgrading(database) as connection:
                database.prepare_to_make(connection)
                migrate(connection)
            return cls(database)

    @contextmanager
    def write(self) -> Iterator[Tx]:
        """One transaction that may write. It cannot be nested.

        On SQLite others who write wait from its beginning; on PostgreSQL for the rows it locked (`lock_rows`).
        """
        with _plainly(self._database), self._writing.connect() as connection:
            with self._database.turn():
                connection.begin()
            yield connection
            connection.commit()

    @contextmanager
    def read(self) -> Iterator[Tx]:
        """One transaction that sees a single moment of the shop and cannot write."""
        with _plainly(self._database), self._reading.connect() as connection, connection.begin():
            yield connection

    @property
    def engines(self) -> tuple[Engine, Engine]:
        """SQLAlchemy's engines for writing and for reading, for listening to what is sent."""
        return self._writing, self._reading

    def close(self) -> None:
        """Close every connection."""
        for engine in self.engines:
            engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def lock_rows(tx: Tx, table: FromClause, keys: Iterable[int] | Iterable[str]) -> None:
    """Keep these rows of `table`, named by their primary key, from changing under us until the transaction ends.

    This is the one way rows are locked: in the order of their keys, all rows of a table at once. Who locks rows of
    several tables takes the tables in order of name. Read the rows after locking them. On SQLite there is nothing to
    do: a write transaction keeps every other writer out.
    """
    if tx.dialect.name != "sqlite":
        (key,) = table.primary_key
        tx.execute(select(key).where(key.in_(set(keys))).order_by(key).with_for_update())


class Attempt:
    """Something tried aside: undone at the end of its block unless `keep` was called."""

    kept = False

    def keep(self) -> None:
        """What was tried is kept, as a part of the transaction."""
        self.kept = True


@contextmanager
def aside(tx: Tx) -> Iterator[Attempt]:
    """Try something within a transaction, and undo just that unless it is kept."""
    attempt = Attempt()
    savepoint = tx.begin_nested()
    try:
        yield attempt
    finally:
        if attempt.kept:
            savepoint.commit()
        else:
            savepoint.rollback()


@contextmanager
def refusing(sentences: Mapping[str, str]) -> Iterator[None]:
    """Turn a broken constraint into a Refusal: `{"ck_holding_reserved_within_held": "There is not enough …"}`.

    The transaction is lost then: leave it. A constraint that is not named here leaves as IntegrityError. SQLite does
    not say which foreign key broke: the first `fk_…` given is taken.
    """
    try:
        yield
    except IntegrityError as error:
        for name in _broken(error):
            if name in sentences:
                raise Refusal(sentences[name]) from error
        if "FOREIGN KEY constraint failed" in str(error.orig):
            for name, sentence in sentences.items():
                if name.startswith("fk_"):
                    raise Refusal(sentence) from error
        raise


def _broken(error: IntegrityError) -> Iterator[str]:
    """Names of the constraints the error may be about. SQLite names a CHECK, and the columns of anything unique."""
    diagnosis = getattr(error.orig, "diag", None)
    if diagnosis is not None:
        yield str(diagnosis.constraint_name)
        return
    message = str(error.orig)
    if check := re.fullmatch(r"CHECK constraint failed: (\w+)", message):
        yield check[1]
    if unique := re.fullmatch(r"UNIQUE constraint failed: (.+)", message):
        dotted = unique[1].split(", ")
        columns = [name.split(".")[1] for name in dotted]
        for constraint in _all_unique(Base.metadata.tables[dotted[0].split(".")[0]]):
            if [column.name for column in constraint.columns] == columns:
                yield str(constraint.name)


def _all_unique(table: Table) -> Iterator[PrimaryKeyConstraint | UniqueConstraint | Index]:
    for constraint in table.constraints:
        if isinstance(constraint, PrimaryKeyConstraint | UniqueConstraint):
            yield constraint
    for index in table.indexes:
        if index.unique:
            yield index


def _database(where: str | os.PathLike[str], wait_s: float) -> _Database:
    """What kind of database `where` names."""
    written = os.fspath(where)
    if "://" not in written:
        return SqliteDatabase(Path(written), wait_s)
    try:
        url = make_url(written)
    except (ArgumentError, ValueError) as error:
        raise Refusal(
            "The address of the shop cannot be read. Write it as postgresql+psycopg://USER@SERVER/DATABASE, or name a "
            "file."
        ) from error
    if url.get_backend_name() != "postgresql":
        raise Refusal(
            f"A shop cannot be kept at an address that begins with '{url.drivername}://'. Name a file, or an address "
            "that begins with 'postgresql+psycopg://'."
        )
    return PostgresDatabase(url, wait_s)


@contextmanager
def _plainly(database: _Database) -> Iterator[None]:
    """Say the errors of the database in sentences. A broken constraint passes: the job knows what it means."""
    try:
        yield
    except IntegrityError:
        raise
    except (DBAPIError, sqlite3.Error) as error:
        cause = error.orig if isinstance(error, DBAPIError) and error.orig is not None else error
        if sentence := database.sentence(cause):
            raise Refusal(sentence) from error
        raise


def _version(database: _Database, connection: Connection) -> int:
    """The version of the shop's tables. A shop that has just been made has no `about` yet: then Alembic's number."""
    ours, alembics = "SELECT schema FROM about WHERE id = 1", "SELECT CAST(version_num AS INT) FROM alembic_version"
    try:
        version = connection.execute(text(f"SELECT coalesce(({ours}), ({alembics}))")).scalar_one()
    except DBAPIError as error:
        if not database.is_missing_table(error):
            raise
        version = None
    if version is None:
        raise Refusal(f"{database.name} is not a stockroom shop. Check the path or address; nothing was touched.")
    return int(version)


@contextmanager
def _upgrading(database: _Database) -> Iterator[Connection]:
    """One transaction for changing the tables: all of it happens, with what refers to what checked, or nothing."""
    with database.engine("upgrade").connect() as connection:
        with database.turn():
            connection.begin()
        yield connection
        database.check_upgraded(connection)
        connection.commit()


def _upgrade(database: _Database) -> str | None:
    """Bring the shop's tables to the newest version. Returns what to tell the person; None if somebody else did."""
    from stockroom.store.upgrade import migrate

    with _upgrading(database) as connection:
        database.prepare_to_upgrade(connection)
        version = _version(database, connection)
        if version >= SCHEMA:
            return None
        copy = database.keep_copy(version)
        try:
            migrate(connection)
        except Exception as error:
            reason = " ".join(str(getattr(error, "orig", error)).split())
            raise Refusal(
                f"The shop at {database.name} could not be upgraded from version {version} to {SCHEMA} and is as it "
                f"was: {reason}. Go on with the older stockroom and report this."
            ) from error
        connection.execute(text("UPDATE about SET schema = :version WHERE id = 1"), {"version": SCHEMA})
    return f"The shop at {database.name} was upgraded from version {version} to {SCHEMA}. {copy}"


def _install_triggers(_metadata: MetaData, connection: Connection, **_: object) -> None:
    for statement in TRIGGERS[connection.dialect.name]:
        connection.execute(text(statement))


# The migrations write the triggers out; whoever makes the tables straight from the metadata must get them too.
event.listen(Base.metadata, "after_create", _install_triggers)
