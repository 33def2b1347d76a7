"""Where the folders that come with the program lie (`migrations`, `seed`): in a wheel, or in a checkout."""

from __future__ import annotations

from pathlib import Path

from stockroom.domain.refusal import Refusal

_PACKAGE = Path(__file__).resolve().parents[1]


def shipped(name: str) -> Path:
    """The folder `name` that comes with the program. Refused where it is missing.

    A wheel carries it inside the package, under `_shipped`; a checkout has it beside the package.
    """
    for folder in (_PACKAGE / "_shipped" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise Refusal(f"The folder '{name}' that comes with stockroom is missing. Install stockroom again.")
