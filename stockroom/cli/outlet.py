"""Where the screens print to: a folder for the PDF files, and perhaps a printer."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stockroom.jobs.printing import Outlet


def outlet_of(shop: str) -> Outlet:
    """The folder and the printer for a shop, which is the path of a file or an address.

    The folder is what STOCKROOM_PAPER names; without it, `paper` beside the shop's file, or `stockroom` among the
    user's documents for a shop in a PostgreSQL database. The printer is what STOCKROOM_PRINTER names, if it does;
    what tags are printed on, STOCKROOM_LABELS.
    """
    from stockroom.jobs.printing import Outlet

    return Outlet(_folder(shop), _named("STOCKROOM_PRINTER"), _named("STOCKROOM_LABELS"))


def _folder(shop: str) -> Path:
    named = _named("STOCKROOM_PAPER")
    if named:
        return Path(named).expanduser().absolute()
    if "://" not in shop:
        return Path(shop).absolute().parent / "paper"
    from platformdirs import user_documents_path

    return user_documents_path() / "stockroom"


def _named(variable: str) -> str:
    return os.environ.get(variable, "").strip()
