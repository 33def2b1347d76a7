"""What every command may be asked: which shop, who is at the keyboard, and whether the answer is for a program."""

from __future__ import annotations

import dataclasses
import getpass
import json
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockroom.cli.place import WrongCall as WrongCall
from stockroom.cli.place import keep_logs_off_the_terminal as keep_logs_off_the_terminal
from stockroom.cli.place import must_be_there
from stockroom.cli.place import where as where
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
    with Shop.open(must_be_there(where(shop))) as found:
        if found.upgraded:
            print(found.upgraded, file=sys.stderr)
        yield at_the_clock(found)


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
