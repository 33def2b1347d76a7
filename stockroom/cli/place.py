"""Which shop a call is about. Nothing here needs the library that reads the command line."""

from __future__ import annotations

import os

from stockroom.domain.refusal import Refusal


class WrongCall(Refusal):
    """The call itself was wrong: a word that is missing, one too many, or one that is not written as it should be."""


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


def is_any(shop: str | None) -> bool:
    """Whether a shop was named, or one is in the user's data folder."""
    return bool(shop or _before) or os.path.exists(where(None))


def must_be_there(place: str) -> str:
    """The place itself. Raises `Refusal` for a file that is not there."""
    if "://" not in place and not os.path.exists(place):
        raise Refusal(
            f"There is no shop at {place}. Make one with 'stockroom load FOLDER --shop {place}', or look at the demo: "
            "'stockroom demo'."
        )
    return place


def keep_logs_off_the_terminal() -> None:
    """What the database's library logs (a connection that Ctrl-C cut short, with its traceback) is no news to a person.

    The error itself reaches us as such.
    """
    import logging

    log = logging.getLogger("sqlalchemy")
    if not log.handlers:
        log.addHandler(logging.NullHandler())
