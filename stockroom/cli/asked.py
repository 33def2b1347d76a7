"""What every command may be asked: which shop, who is at the keyboard, and whether the answer is for a program."""

from __future__ import annotations

import dataclasses
import getpass
import json
import os
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.wording import literal

if TYPE_CHECKING:
    from stockroom.store.database import Shop

_SHOP_HELP = "The shop: a SQLite file, or a postgresql+psycopg:// address."
FrontShopOption = Annotated[str | None, typer.Option("--shop", envvar="STOCKROOM_SHOP", help=_SHOP_HELP)]
"""The shop, before the verb or from the environment."""
# After the verb the environment is not asked again: it would win over what was typed before the verb.
ShopOption = Annotated[str | None, typer.Option("--shop", help=f"{_SHOP_HELP}  [env var: STOCKROOM_SHOP]")]
"""The shop, after the verb."""
ByOption = Annotated[
    str | None,
    typer.Option("--by", envvar="STOCKROOM_BY", help="Your initials. Without them: the login name.", show_envvar=True),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Answer in JSON, for a program.")]
OrderArgument = Annotated[str, typer.Argument(metavar="ORDER", help="An order's number or tag.")]


class WrongCall(Refusal):
    """The call itself was wrong: a word that is missing, one too many, or one that is not written as it should be."""


@dataclass(frozen=True)
class Opened:
    """An open shop with the clock of whoever called."""

    shop: Shop
    now: datetime
    """By the shop's own clock."""
    today: date

    def stamp(self, by: str | None) -> Stamp:
        """Who and when."""
        return Stamp(initials(by), self.now)


def where(shop: str | None) -> str:
    """The shop that was named after the verb, before it, or by the environment; or that of the user's data folder."""
    named = shop or (_before[0] if _before else None)
    if named:
        return named
    from platformdirs import user_data_path

    return str(user_data_path("stockroom", appauthor=False) / "shop.db")


_before: list[str] = []


def name_before_the_verb(shop: str | None) -> None:
    """Remembers `stockroom --shop X VERB`, or the environment's word."""
    _before[:] = [shop] if shop else []


def initials(by: str | None) -> str:
    """Initials as given, or the login name, cut to the eight characters that fit on paper."""
    if by:
        return by
    try:
        return getpass.getuser()[:8]
    except (OSError, KeyError):
        raise Refusal("Say who you are: --by AB, or set STOCKROOM_BY.") from None


@contextmanager
def opened(shop: str | None) -> Iterator[Opened]:
    """The shop, opened for one command."""
    from stockroom.store.database import Shop

    keep_logs_off_the_terminal()
    with Shop.open(_there(where(shop))) as found:
        if found.upgraded:
            print(found.upgraded, file=sys.stderr)
        yield at_the_clock(found)


def keep_logs_off_the_terminal() -> None:
    """What the database's library logs (a connection that Ctrl-C cut short, with its traceback) is no news to a person.

    The error itself reaches us as such.
    """
    import logging

    log = logging.getLogger("sqlalchemy")
    if not log.handlers:
        log.addHandler(logging.NullHandler())


def _there(place: str) -> str:
    if "://" not in place and not os.path.exists(place):
        raise Refusal(
            f"There is no shop at {place}. Make one with 'stockroom load FOLDER --shop {place}', or look at the demo: "
            "'stockroom demo'."
        )
    return place


def at_the_clock(shop: Shop) -> Opened:
    """The shop with the moment it is now, and the day in its own time zone."""
    from stockroom.jobs.calendar import local

    now = local(shop, datetime.now(UTC))
    return Opened(shop, now, now.date())


def plain(value: Any) -> Any:
    """Dataclasses, dates and tuples as JSON has them."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(one) for one in value]
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    return value


def say(text: str = "") -> None:
    """One line of a result, on stdout. Control characters are shown, not obeyed."""
    print(literal(text))


def say_json(value: Any) -> None:
    """A result for a program, on stdout."""
    print(json.dumps(plain(value), ensure_ascii=False, indent=2))
