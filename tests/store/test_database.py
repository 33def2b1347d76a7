"""A shop's database: what a transaction promises, how writers take turns, and what a person is told when it fails."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import insert, make_url, select, text, update
from sqlalchemy.exc import DBAPIError, IntegrityError

from stockroom.domain.refusal import Refusal
from stockroom.store.database import Shop, Tx, lock_rows, refusing
from stockroom.store.tables import SCHEMA, Colour, Counter, Holding, Item, Job, Movement
from stockroom.store.turns import TooLong, turn
from tests.databases import Database, Server, count_statements, plain_engine

AT = datetime(2026, 11, 25, 8, 30, tzinfo=UTC)
ITEM = {
    "code": "stud", "title": "Stud", "title_folded": "stud", "kind": "hardware", "mass_g": 2, "group": "",
    "hazards": "", "storage": "", "made_here": False,
}  # fmt: skip
BIN = {
    "kind": "bin", "tag": "b1", "item": "stud", "lot": "", "held": 10, "reserved": 0, "quarantined": False,
    "quarantined_because": "", "last_number": 1, "value_minor": 0,
}  # fmt: skip


def add_counter(tx: Tx, name: str, last: int = 0) -> None:
    """Keep a row of the smallest table."""
    tx.execute(insert(Counter), [{"name": name, "last": last}])


def counters(shop: Shop) -> dict[str, int]:
    """What the smallest table holds, in a transaction of its own."""
    with shop.read() as tx:
        return {row.name: row.last for row in tx.execute(select(Counter.name, Counter.last))}


# --- what a transaction promises


def test_what_is_written_is_there_afterwards(database: Database) -> None:
    with Shop.open(database.where) as shop, shop.write() as tx:
        add_counter(tx, "order", 7)
    with Shop.open(database.where) as shop:
        assert counters(shop) == {"order": 7}


def test_what_raises_leaves_nothing(shop: Shop) -> None:
    def job() -> None:
        with shop.write() as tx:
            add_counter(tx, "order")
            assert tx.execute(select(Counter.name)).scalars().all() == ["order"]
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        job()
    assert counters(shop) == {}


def test_ctrl_c_leaves_nothing(shop: Shop) -> None:
    def job() -> None:
        with shop.write() as tx:
            add_counter(tx, "order")
            signal.raise_signal(signal.SIGINT)

    with pytest.raises(KeyboardInterrupt):
        job()
    assert counters(shop) == {}
    with shop.write() as tx:
        add_counter(tx, "after")
    assert counters(shop) == {"after": 0}


def test_a_killed_writer_leaves_nothing_and_stands_in_nobodys_way(database: Database) -> None:
    spawn = multiprocessing.get_context("spawn")
    process = spawn.Process(target=write_and_die, args=(database.where,))
    process.start()
    process.join()
    assert process.exitcode == 9
    with Shop.open(database.where) as shop:
        with shop.write() as tx:
            add_counter(tx, "after")
        assert counters(shop) == {"after": 0}


def write_and_die(where: str) -> None:
    """In a process of its own: stop short in the middle of a transaction, without any tidying."""
    with Shop.open(where).write() as tx:
        add_counter(tx, "order")
        os._exit(9)


def test_a_reader_sees_one_moment_while_a_writer_commits(shop: Shop) -> None:
    with shop.write() as tx:
        add_counter(tx, "order", 1)
    with shop.read() as tx:
        before = tx.execute(select(Counter.last)).scalars().all()
        with shop.write() as other:
            other.execute(update(Counter).values(last=2))
            add_counter(other, "roll")
        assert tx.execute(select(Counter.last)).scalars().all() == before == [1]
    assert counters(shop) == {"order": 2, "roll": 0}


def test_a_reader_cannot_write(shop: Shop) -> None:
    with pytest.raises(Refusal, match="can be read but not written"), shop.read() as tx:
        add_counter(tx, "order")


def test_every_commit_of_sqlite_is_synced_to_the_disk(sqlite_shop: Shop) -> None:
    with sqlite_shop.write() as tx:
        found = {
            name: tx.exec_driver_sql(f"PRAGMA {name}").scalar_one()
            for name in ("synchronous", "journal_mode", "foreign_keys", "recursive_triggers")
        }
    # synchronous 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous
    assert found == {"synchronous": 2, "journal_mode": "wal", "foreign_keys": 1, "recursive_triggers": 1}


# --- writers


def in_threads(*jobs: Callable[[], object]) -> list[Future[object]]:
    """Run the jobs at the same time; give their outcomes."""
    with ThreadPoolExecutor(len(jobs)) as pool:
        return [pool.submit(job) for job in jobs]


def count_up(where: str, times: int) -> None:
    """In a process of its own: read a counter and write it one higher, so many times."""
    with Shop.open(where, wait_s=60) as shop:
        for _ in range(times):
            with shop.write() as tx:
                lock_rows(tx, Counter.__table__, ["order"])
                last = tx.execute(select(Counter.last).where(Counter.name == "order")).scalar_one()
                tx.execute(update(Counter).where(Counter.name == "order").values(last=last + 1))


def test_two_processes_that_write_at_the_same_time_both_succeed_in_turn(database: Database) -> None:
    with Shop.open(database.where) as shop:
        with shop.write() as tx:
            add_counter(tx, "order")
        spawn = multiprocessing.get_context("spawn")
        processes = [spawn.Process(target=count_up, args=(database.where, 40)) for _ in range(2)]
        for process in processes:
            process.start()
        for process in processes:
            process.join()
        assert [process.exitcode for process in processes] == [0, 0]
        assert counters(shop) == {"order": 80}


def test_no_writer_starves_while_others_write_in_a_loop(sqlite_shop: Shop, tmp_path: Path) -> None:
    names, in_all = ["a", "b", "c", "d"], 400
    with sqlite_shop.write() as tx:
        for name in names:
            add_counter(tx, name)
    start = threading.Barrier(len(names))

    def write_until_enough(name: str) -> None:
        with Shop.open(tmp_path / "shop.db") as shop:
            start.wait()
            while True:
                with shop.write() as tx:
                    if sum(tx.execute(select(Counter.last)).scalars()) >= in_all:
                        return
                    tx.execute(update(Counter).where(Counter.name == name).values(last=Counter.last + 1))

    for outcome in in_threads(*(lambda name=name: write_until_enough(name) for name in names)):
        outcome.result()
    shares = counters(sqlite_shop)
    assert sum(shares.values()) == in_all
    assert min(shares.values()) >= in_all / len(names) / 5, shares


def test_a_writer_who_waits_too_long_is_refused(database: Database) -> None:
    with Shop.open(database.where) as shop, Shop.open(database.where, wait_s=0.05) as hasty:
        with shop.write() as tx:
            add_counter(tx, "order")
        with shop.write() as tx:
            lock_rows(tx, Counter.__table__, ["order"])
            with pytest.raises(Refusal, match=r"more than 0\.05 seconds"), hasty.write() as other:
                lock_rows(other, Counter.__table__, ["order"])
        with hasty.write() as other:
            add_counter(other, "later")


def test_a_writer_who_stands_behind_a_waiting_one_is_refused_in_time(sqlite_shop: Shop, tmp_path: Path) -> None:
    path = tmp_path / "shop.db"

    def write_when_it_is_my_turn() -> None:
        with Shop.open(path, wait_s=60) as patient, patient.write() as tx:
            add_counter(tx, "patient")

    with ThreadPoolExecutor(1) as pool, Shop.open(path, wait_s=0.05) as hasty:
        with sqlite_shop.write():
            waiting = pool.submit(write_when_it_is_my_turn)
            while next_in_line_is_free(path):
                assert not waiting.done()
            with pytest.raises(Refusal, match=r"more than 0\.05 seconds"), hasty.write():
                pass
        waiting.result()
    assert counters(sqlite_shop) == {"patient": 0}


def next_in_line_is_free(path: Path) -> bool:
    """Whether nobody waits to begin writing."""
    try:
        with turn(path.with_name("shop.db-turns"), 0):
            return True
    except TooLong:
        return False


def test_a_ring_of_waiting_jobs_is_broken_with_a_sentence(server: Server, postgresql_template: str) -> None:
    with server.new_database(postgresql_template) as url, Shop.open(url) as shop:
        with shop.write() as tx:
            add_counter(tx, "a")
            add_counter(tx, "b")
        both_have_one = threading.Barrier(2)

        def lock(first: str, second: str) -> None:
            with shop.write() as tx:
                tx.execute(text("SET LOCAL deadlock_timeout = '50ms'"))
                lock_rows(tx, Counter.__table__, [first])
                both_have_one.wait()
                lock_rows(tx, Counter.__table__, [second])

        outcomes = in_threads(lambda: lock("a", "b"), lambda: lock("b", "a"))
        errors = [error for error in (outcome.exception() for outcome in outcomes) if error is not None]
        assert len(errors) == 1
        assert isinstance(errors[0], Refusal)
        assert "got in each other's way" in errors[0].sentence


def test_rows_are_locked_in_the_order_of_their_keys(shop: Shop) -> None:
    with shop.write() as tx, count_statements(shop) as statements:
        lock_rows(tx, Counter.__table__, ["b", "a", "b"])
        lock_rows(tx, Holding.__table__, [3, 1])
        postgresql = tx.dialect.name == "postgresql"
    assert statements.count == (2 if postgresql else 0)
    assert all("ORDER BY" in sent and sent.endswith("FOR UPDATE") for sent in statements.sent)


def test_statements_are_counted(shop: Shop) -> None:
    with count_statements(shop) as statements:
        with shop.write() as tx:
            tx.execute(insert(Counter), [{"name": "a", "last": 1}, {"name": "b", "last": 1}])
        counters(shop)
    assert statements.count == 2
    counters(shop)
    assert statements.count == 2


# --- broken constraints


def stocked(tx: Tx) -> None:
    """One item and one bin of it."""
    tx.execute(insert(Item), [ITEM])
    tx.execute(insert(Holding), [BIN])


@pytest.mark.parametrize(
    ("name", "break_it"),
    [
        ("ck_holding_reserved_within_held", lambda tx: tx.execute(update(Holding).values(reserved=11))),
        ("uq_holding_tag", lambda tx: tx.execute(insert(Holding), [{**BIN, "lot": "2"}])),
        ("uq_holding_past", lambda tx: tx.execute(insert(Holding), [{**BIN, "tag": t, "kind": "past"} for t in "xy"])),
        ("pk_item", lambda tx: tx.execute(insert(Item), [ITEM])),
        ("fk_holding_item", lambda tx: tx.execute(insert(Holding), [{**BIN, "tag": "b2", "item": "none"}])),
    ],
)
def test_a_broken_constraint_is_said_in_the_sentence_given(
    shop: Shop, name: str, break_it: Callable[[Tx], object]
) -> None:
    sentences = {"ck_holding_kind_known": "Not this one.", name: "This is the sentence."}

    def job() -> None:
        with shop.write() as tx:
            stocked(tx)
            with refusing(sentences):
                break_it(tx)

    with pytest.raises(Refusal, match="This is the sentence"):
        job()
    with shop.read() as tx:
        assert tx.execute(select(Item.code)).all() == []


def test_a_broken_constraint_that_nobody_named_stays_an_error(shop: Shop) -> None:
    def job() -> None:
        with shop.write() as tx, refusing({"uq_holding_tag": "Not this one."}):
            stocked(tx)
            tx.execute(update(Holding).values(reserved=11))

    with pytest.raises(IntegrityError):
        job()


def one_movement(shop: Shop) -> None:
    """Write one line of the ledger."""
    with shop.write() as tx:
        stocked(tx)
        tx.execute(insert(Job), [{"id": 1, "what": "receive", "by": "AB", "at": AT}])
        movement = {"number": 1, "kind": "received", "quantity": 10, "balance": 10, "value_minor": 0, "note": ""}
        holding = tx.execute(select(Holding.id)).scalar_one()
        tx.execute(insert(Movement), [{**movement, "holding_id": holding, "job_id": 1, "by": "AB", "at": AT}])


def refuses_to_change_the_ledger(shop: Shop, change: str) -> bool:
    """Whether the database itself turns the statement away and keeps the line as it was."""
    one_movement(shop)
    with pytest.raises(DBAPIError, match="a movement is never changed"), shop.write() as tx:
        tx.exec_driver_sql(change)
    with shop.read() as tx:
        return list(tx.execute(select(Movement.quantity)).scalars()) == [10]


@pytest.mark.parametrize("change", ["UPDATE movement SET quantity = 5", "DELETE FROM movement"])
def test_the_database_itself_keeps_the_ledger_as_it_was_written(shop: Shop, change: str) -> None:
    assert refuses_to_change_the_ledger(shop, change)


def test_sqlite_does_not_replace_a_movement_either(sqlite_shop: Shop) -> None:
    assert refuses_to_change_the_ledger(sqlite_shop, "INSERT OR REPLACE INTO movement SELECT * FROM movement")


# --- opening and making


def test_a_shop_is_made_once(empty_database: Database) -> None:
    with Shop.make(empty_database.where) as shop, shop.write() as tx:
        add_counter(tx, "order")
    with pytest.raises(Refusal, match="already"):
        Shop.make(empty_database.where)
    with Shop.open(empty_database.where) as shop:
        assert shop.version == SCHEMA
        assert counters(shop) == {"order": 0}


def test_a_shop_that_need_not_exist_is_made_when_it_is_missing(empty_database: Database) -> None:
    with Shop.open(empty_database.where, must_exist=False) as shop, shop.write() as tx:
        add_counter(tx, "order")
    with Shop.open(empty_database.where, must_exist=False) as shop:
        assert counters(shop) == {"order": 0}


def test_a_shop_that_cannot_be_finished_leaves_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("stockroom.store.upgrade.migrate", stop)
    with pytest.raises(KeyboardInterrupt):
        Shop.make(tmp_path / "shop.db")
    assert list(tmp_path.iterdir()) == []


def test_a_newer_shop_is_refused_and_not_touched(database: Database) -> None:
    with plain_engine(database).begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(Refusal, match=r"newer stockroom.*9999"):
        Shop.open(database.where)


def test_opening_does_not_load_alembic(database: Database) -> None:
    program = (
        "import sys\n"
        "from stockroom.store.database import Shop\n"
        "Shop.open(sys.argv[1]).close()\n"
        "print('alembic' in sys.modules)"
    )
    run = subprocess.run(
        [sys.executable, "-c", program, database.where], capture_output=True, text=True, check=True, cwd=Path.cwd()
    )
    assert run.stdout == "False\n"


# --- what a person is told


def refused(where: str | Path) -> str:
    """The sentence with which the shop at `where` is refused."""
    with pytest.raises(Refusal) as refusal:
        Shop.open(where).close()
    return refusal.value.sentence


def test_a_missing_file_is_refused_and_not_made(tmp_path: Path) -> None:
    assert "There is no shop at" in refused(tmp_path / "shop.db")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="such names and files are not possible there")
def test_what_cannot_be_a_file_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "is not a stockroom shop" in refused(tmp_path / "pipe")
    assert "cannot be opened (File name too long)" in refused(tmp_path / ("x" * 5000))
    (tmp_path / "file").touch()
    assert "There is no shop at" in refused(tmp_path / "file" / "shop.db")


@pytest.mark.skipif(sys.platform == "win32", reason="such names are not possible there")
def test_a_shop_may_have_any_name(tmp_path: Path) -> None:
    path = tmp_path / "50% off?mode=memory#ő 'n'.db"
    with Shop.make(path) as shop, shop.write() as tx:
        add_counter(tx, "order")
    assert path.is_file()
    with Shop.open(path) as shop:
        assert counters(shop) == {"order": 0}


def test_a_folder_is_refused(tmp_path: Path) -> None:
    assert "is a folder, not a shop" in refused(tmp_path)
    with pytest.raises(Refusal, match="already"):
        Shop.make(tmp_path)


def test_a_shop_cannot_be_made_in_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="Choose a folder that exists"):
        Shop.make(tmp_path / "none" / "shop.db")


@pytest.mark.parametrize("content", [b"", b"a,b,c\n" * 1000, b"SQLite format 3\x00" + bytes(range(256)) * 8])
def test_a_file_that_is_not_a_database_is_refused_and_not_touched(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "orders.csv"
    path.write_bytes(content)
    assert "is not a stockroom shop" in refused(path)
    assert path.read_bytes() == content


def test_another_programs_database_is_refused(empty_database: Database) -> None:
    if empty_database.kind == "sqlite":
        Path(empty_database.where).touch()
    with plain_engine(empty_database).begin() as connection:
        connection.execute(text("CREATE TABLE about (id INTEGER PRIMARY KEY, name TEXT)"))
    assert "is not a stockroom shop" in refused(empty_database.where)
    with pytest.raises(Refusal, match="already"):
        Shop.make(empty_database.where)


def test_a_damaged_shop_is_refused(sqlite_template: Path, tmp_path: Path) -> None:
    path = tmp_path / "shop.db"
    damaged = bytearray(sqlite_template.read_bytes())
    damaged[4096:] = b"\xff" * (len(damaged) - 4096)
    path.write_bytes(damaged)
    assert "is damaged" in refused(path)


def test_a_full_disk_is_said_and_nothing_changes(sqlite_shop: Shop) -> None:
    def job() -> None:
        with sqlite_shop.write() as tx:
            add_counter(tx, "order")
            # SQLite gives the same error for its own limit on the size of the file.
            tx.exec_driver_sql("PRAGMA max_page_count = 1")
            tx.execute(insert(Counter), [{"name": "x" * 1000 + str(number), "last": 0} for number in range(500)])

    with pytest.raises(Refusal, match="disk is too full"):
        job()
    assert counters(sqlite_shop) == {}


@pytest.mark.skipif(sys.platform == "win32", reason="file rights work otherwise there")
def test_a_shop_that_may_only_be_read_is_refused(sqlite_template: Path, tmp_path: Path) -> None:
    folder = tmp_path / "locked"
    folder.mkdir()
    shutil.copyfile(sqlite_template, folder / "shop.db")
    (folder / "shop.db").chmod(0o444)
    folder.chmod(0o555)
    for above in (tmp_path, tmp_path.parent, tmp_path.parent.parent):
        above.chmod(above.stat().st_mode | 0o055)
    fork = multiprocessing.get_context("fork")
    told = fork.SimpleQueue()
    process = fork.Process(target=write_as_nobody, args=(folder / "shop.db", told))
    process.start()
    sentence = told.get()
    process.join()
    folder.chmod(0o755)
    assert "Check that you may read and write the file and the folder it is in" in sentence


def write_as_nobody(path: Path, told: Any) -> None:
    """In a process of its own: try to write without any right to."""
    if os.geteuid() == 0:
        os.setuid(65534)
    try:
        with Shop.open(path) as shop, shop.write() as tx:
            add_counter(tx, "order")
        told.put("it was written")
    except Refusal as refusal:
        told.put(refusal.sentence)
    except BaseException as error:
        told.put(repr(error))


def test_an_address_of_no_known_kind_is_refused() -> None:
    assert "begins with 'mysql://'" in refused("mysql://server/shop")
    assert "cannot be read" in refused("postgresql+psycopg://server:port/shop")


def test_a_server_that_does_not_answer_is_refused_without_showing_the_password(tmp_path: Path) -> None:
    sentence = refused(f"postgresql+psycopg://clerk:secret@/shop?host={tmp_path}")
    assert "cannot be reached" in sentence
    assert "secret" not in sentence


def test_a_database_that_is_not_there_is_refused(server: Server) -> None:
    sentence = refused(server.url.set(database="none").render_as_string(hide_password=False))
    assert "cannot be reached" in sentence
    assert 'database "none" does not exist' in sentence


def test_a_lost_connection_is_said_and_made_anew_for_the_next_job(server: Server, postgresql_template: str) -> None:
    with server.new_database(postgresql_template) as url, Shop.open(url) as shop:

        def job() -> None:
            with shop.write() as tx:
                add_counter(tx, "order")
                name = make_url(url).database
                server.run(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'")
                add_counter(tx, "roll")

        with pytest.raises(Refusal, match=r"stopping or starting|cannot be reached"):
            job()
        assert counters(shop) == {}


def test_markup_in_a_name_is_kept_as_it_is(shop: Shop) -> None:
    name = "<b>[red]Rót\t\x1b[31m</b>"
    with shop.write() as tx:
        tx.execute(insert(Colour), [{"code": "red", "name": name, "name_folded": name.casefold()}])
    with shop.read() as tx:
        assert tx.execute(select(Colour.name)).scalar_one() == name
