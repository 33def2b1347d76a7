"""A shop kept in a PostgreSQL database: how it is opened, and what its errors mean."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import URL, Connection, Engine, NullPool, QueuePool, create_engine, event, text
from sqlalchemy.exc import DBAPIError

from stockroom.domain.refusal import Refusal

_UPGRADE_LOCK = 7240115
"""Number of the advisory lock that whoever makes or upgrades a shop holds. Any number will do, if it stays."""


class PostgresDatabase:
    """One PostgreSQL database. The schema used is the first of its search path."""

    def __init__(self, url: URL, wait_s: float) -> None:
        self._url = url.set(drivername="postgresql+psycopg")
        self.name = f"'{self._url.render_as_string(hide_password=True)}'"
        self._wait_s = wait_s

    def engine(self, way: str) -> Engine:
        """An engine for one `way` of working: 'write', 'read' or 'upgrade'. Nothing is opened yet.

        Reading runs at REPEATABLE READ so that all of it is of one moment; writing at READ COMMITTED so that a row
        which was waited for is seen as the other writer left it.
        """
        engine = create_engine(
            self._url,
            connect_args={
                "connect_timeout": 10,
                "options": f"-c timezone=UTC -c lock_timeout={round(self._wait_s * 1000)}",
            },
            poolclass=NullPool if way == "upgrade" else QueuePool,
            # A screen stays open for days: a server that was started anew meanwhile must not cost a job.
            pool_pre_ping=True,
        )
        event.listen(engine, "connect", _sums_are_whole)
        if way == "read":
            return engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
        return engine.execution_options(isolation_level="READ COMMITTED")

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Nothing to wait for: PostgreSQL queues writers at the rows they lock."""
        yield

    def exists(self) -> bool:
        """Whether the database holds any table."""
        engine = self.engine("upgrade")
        with engine.connect() as connection:
            return _holds_tables(connection)

    def must_be_there(self) -> None:
        """Nothing to look at before connecting."""

    @contextmanager
    def making(self) -> Iterator[None]:
        """Nothing to take: `prepare_to_make` looks inside the transaction."""
        yield

    def prepare_to_make(self, connection: Connection) -> None:
        """Refuse a database that holds tables already."""
        self.prepare_to_upgrade(connection)
        if _holds_tables(connection):
            raise Refusal(
                f"The database {self.name} holds tables already. Give the new shop a database of its own; "
                "nothing was touched."
            )

    def prepare_to_upgrade(self, connection: Connection) -> None:
        """Keep out everybody else who would make or upgrade this shop, until the transaction ends."""
        connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": _UPGRADE_LOCK})

    def keep_copy(self, version: int) -> str:
        """PostgreSQL cannot be copied from here: the sentence says what the operator should have."""
        return (
            f"No copy was made of the shop as it was at version {version}: keep a dump of the database (pg_dump) for "
            "going back."
        )

    def check_upgraded(self, connection: Connection) -> None:
        """Nothing to do: foreign keys held all the time."""

    def is_missing_table(self, error: DBAPIError) -> bool:
        """Whether the error says that a table or a column is not there."""
        return getattr(error.orig, "sqlstate", None) in ("42P01", "42703")

    def sentence(self, error: BaseException) -> str | None:
        """What a person should read for this error of PostgreSQL, or None if it is a fault of the program.

        The codes are those of PostgreSQL's documentation, Appendix A. What fails while connecting has none; there the
        server's own words are given on.
        """
        import psycopg

        if not isinstance(error, psycopg.Error):
            return None
        state = error.sqlstate or ""
        for beginning, sentence in _SENTENCES.items():
            if state.startswith(beginning):
                return sentence.format(name=self.name, wait_s=f"{self._wait_s:g}")
        # What was asked of a server has a code of the server's; without one it was the address that would not do.
        if isinstance(error, psycopg.OperationalError) or (isinstance(error, psycopg.ProgrammingError) and not state):
            reason = " ".join(str(error).split()).rstrip(".")
            return (
                f"The shop at {self.name} cannot be reached: {reason}. Check the address, the name and password in it, "
                "and that the server runs."
            )
        return None


_SENTENCES = {
    "55P03": "Somebody else has been writing to the same things in the shop at {name} for more than {wait_s} seconds. "
    "Nothing has changed; try again when they are done.",
    "40": "Two jobs got in each other's way in the shop at {name}, and this one was given up. "
    "Nothing has changed; try again.",
    "25006": "The shop at {name} can be read but not written, so nothing has changed. "
    "Ask whoever keeps the server for the right to write.",
    "42501": "The server does not let you do this in the shop at {name}, so nothing has changed. "
    "Ask whoever keeps the server for the right to it.",
    "53100": "The disk of the server is too full to write to the shop at {name}, so nothing has changed. "
    "Ask whoever keeps the server to make room.",
    "53300": "The server of the shop at {name} has too many visitors. Try again in a moment.",
    "57P": "The server of the shop at {name} is stopping or starting, so nothing has changed. Try again in a moment.",
}


def _holds_tables(connection: Connection) -> bool:
    found = connection.execute(text("SELECT EXISTS (SELECT FROM pg_tables WHERE schemaname = current_schema())"))
    return bool(found.scalar_one())


def _sums_are_whole(link: Any, _record: object) -> None:
    """PostgreSQL answers the sum of BIGINTs as NUMERIC. No column of ours is NUMERIC: give back what SQLite gives."""
    from psycopg.adapt import Loader

    class WholeOrReal(Loader):
        def load(self, data: Any) -> int | float:
            number = bytes(data)
            return int(number) if number.lstrip(b"-").isdigit() else float(number)

    link.adapters.register_loader("numeric", WholeOrReal)
