"""Our column types mean the same on both databases."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import Column, MetaData, Table, func, insert, select, text
from sqlalchemy.exc import DBAPIError, StatementError

from stockroom.store.database import Shop
from stockroom.store.tables import Job
from stockroom.store.types import Base, Day, Json, Key, Moment, Real, Whole, Words, YesNo

KEPT = Table(
    "kept",
    MetaData(),
    Column("id", Key, primary_key=True),
    Column("words", Words),
    Column("whole", Whole),
    Column("real", Real),
    Column("yes_no", YesNo),
    Column("moment", Moment),
    Column("day", Day),
    Column("json", Json),
    sqlite_strict=True,
)
"""A table with one column of each type, made by the tests that need it."""


@pytest.fixture
def kept(shop: Shop) -> Shop:
    """A shop that also has the table `kept`."""
    with shop.write() as tx:
        KEPT.create(tx)
    return shop


def keep(shop: Shop, column: str, *values: object) -> list[Any]:
    """Write the values into one column, a row each, and read them back in the order of their rows."""
    with shop.write() as tx:
        tx.execute(insert(KEPT), [{column: value} for value in values])
    with shop.read() as tx:
        return list(tx.execute(select(KEPT.c[column]).order_by(KEPT.c.id)).scalars())


INSTANT = datetime(2026, 3, 29, 0, 59, 59, 123456, tzinfo=UTC)
"""A second before the clocks of London go forward."""


@pytest.mark.parametrize(
    "zone", [UTC, timezone(timedelta(hours=5, minutes=30)), timezone(timedelta(hours=-9)), ZoneInfo("Europe/London")]
)
def test_a_moment_keeps_its_instant_across_zones(kept: Shop, zone: Any) -> None:
    (back,) = keep(kept, "moment", INSTANT.astimezone(zone))
    assert back == INSTANT
    assert back.utcoffset() == timedelta(0)


def test_the_two_half_hours_of_autumn_stay_apart(kept: Shop) -> None:
    london = ZoneInfo("Europe/London")
    first = datetime(2026, 10, 25, 1, 30, tzinfo=london, fold=0)
    again = datetime(2026, 10, 25, 1, 30, tzinfo=london, fold=1)
    one, other = keep(kept, "moment", first, again)
    assert other - one == timedelta(hours=1)


def test_moments_sort_by_time_whatever_their_zone_and_fraction(kept: Shop) -> None:
    start = datetime(2026, 11, 25, 12, tzinfo=UTC)
    later = [timedelta(0), timedelta(microseconds=1), timedelta(seconds=1), timedelta(hours=1), timedelta(days=3650)]
    zones = [timezone(timedelta(hours=hours)) for hours in (0, 11, -11, 5, -5)]
    moments = [(start + step).astimezone(zone) for step, zone in zip(later, zones, strict=True)]
    keep(kept, "moment", *reversed(moments))
    with kept.read() as tx:
        assert list(tx.execute(select(KEPT.c.moment).order_by(KEPT.c.moment)).scalars()) == moments


def test_a_moment_is_compared_as_an_instant(kept: Shop) -> None:
    keep(kept, "moment", INSTANT)
    elsewhere = INSTANT.astimezone(timezone(timedelta(hours=14)))
    with kept.read() as tx:
        assert tx.execute(select(func.count()).where(KEPT.c.moment == elsewhere)).scalar_one() == 1


def test_a_moment_without_a_zone_is_refused(shop: Shop) -> None:
    with pytest.raises(StatementError, match="has no zone"), shop.write() as tx:
        tx.execute(insert(Job), [{"what": "count", "by": "AB", "at": datetime(2026, 11, 25)}])


def test_a_day_comes_back_and_a_moment_is_not_taken_for_one(kept: Shop) -> None:
    assert keep(kept, "day", date(2026, 11, 25), None) == [date(2026, 11, 25), None]
    with pytest.raises(StatementError, match="not a day"):
        keep(kept, "day", INSTANT)


def test_yes_and_no_come_back_as_bool_and_nothing_else_is_taken(kept: Shop) -> None:
    yes, no, neither = keep(kept, "yes_no", True, False, None)
    assert (yes, no, neither) == (True, False, None)
    assert isinstance(yes, bool)
    with pytest.raises(StatementError, match="neither yes nor no"):
        keep(kept, "yes_no", 2)
    with kept.read() as tx:
        assert tx.execute(select(func.count()).select_from(KEPT).where(KEPT.c.yes_no)).scalar_one() == 1


@pytest.mark.parametrize(
    "value",
    [0, -1.5, 1e300, 2**70, True, "", "null", "ő\u0000\u2028'\"", [], {}, [[1, None], {"b": [{}], "a": "ü"}], {"": ""}],
)
def test_any_json_value_comes_back(kept: Shop, value: object) -> None:
    (back,) = keep(kept, "json", value)
    assert back == value
    assert type(back) is type(value)


def test_equal_json_is_equal_text(kept: Shop) -> None:
    keep(kept, "json", {"b": 1, "a": [1, 2]}, {"a": (1, 2), "b": 1})
    with kept.read() as tx:
        texts = tx.execute(text("SELECT DISTINCT json FROM kept")).scalars().all()
    assert texts == ['{"a":[1,2],"b":1}']


def test_what_json_cannot_hold_is_refused(kept: Shop) -> None:
    with pytest.raises(StatementError, match="Out of range float"):
        keep(kept, "json", float("nan"))
    with pytest.raises(StatementError, match="not JSON serializable"):
        keep(kept, "json", {1, 2})


def test_text_is_ordered_as_python_orders_it(kept: Shop) -> None:
    words = ["b", "B", "a", "ä", "Z", "z", "10", "9", "a-b", "ab", "a b", "", "ő", "Ж", "_", "\U0001f697"]
    assert keep(kept, "words", *words) == words
    with kept.read() as tx:
        found = tx.execute(select(KEPT.c.words).order_by(KEPT.c.words)).scalars().all()
        above = tx.execute(select(KEPT.c.words).where(KEPT.c.words > "a").order_by(KEPT.c.words)).scalars().all()
    assert found == sorted(words)
    assert above == sorted(word for word in words if word > "a")


def test_whole_numbers_hold_64_bits_and_their_sums_stay_whole(kept: Shop) -> None:
    assert keep(kept, "whole", 2**63 - 1, -(2**63)) == [2**63 - 1, -(2**63)]
    with kept.read() as tx:
        total = tx.execute(select(func.sum(KEPT.c.whole))).scalar_one()
        nothing = tx.execute(select(func.sum(KEPT.c.whole)).where(KEPT.c.whole == 7)).scalar_one()
    assert total == -1
    assert type(total) is int
    assert nothing is None


def test_readings_come_back_to_the_last_bit(kept: Shop) -> None:
    readings = [0.1, 1 / 3, -2.5e-308, 5e-324, 50.0]
    assert keep(kept, "real", *readings) == readings


def test_the_database_numbers_the_rows_unless_told(shop: Shop) -> None:
    row = {"what": "count", "by": "AB", "at": INSTANT}
    with shop.write() as tx:
        first = tx.execute(insert(Job).values(row)).inserted_primary_key
        second = tx.execute(insert(Job).values(row)).inserted_primary_key
        assert first is not None
        assert second is not None
        assert second[0] > first[0]
        tx.execute(insert(Job), [{**row, "id": 1000}])
        assert tx.execute(select(func.max(Job.id))).scalar_one() == 1000


@pytest.mark.parametrize(
    ("column", "value"), [("whole", "'many'"), ("real", "'red'"), ("yes_no", "'perhaps'")], ids=lambda value: str(value)
)
def test_the_database_itself_refuses_text_in_a_number(kept: Shop, column: str, value: str) -> None:
    with pytest.raises(DBAPIError), kept.write() as tx:
        tx.exec_driver_sql(f"INSERT INTO kept (id, {column}) VALUES (1, {value})")


def test_every_table_of_ours_is_strict(sqlite_shop: Shop) -> None:
    with sqlite_shop.read() as tx:
        strict = {row.name: row.strict for row in tx.exec_driver_sql("PRAGMA table_list")}
    assert {name: strict[name] for name in Base.metadata.tables} == dict.fromkeys(Base.metadata.tables, 1)
