"""Where the house stands, and what its papers promise."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
"""The folder with pyproject.toml."""

_FENCED = re.compile(r"^```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def sh_blocks(text: str) -> list[str]:
    """The blocks fenced as `sh` of a page, without their fences."""
    return _FENCED.findall(text)


def marked_block(text: str, mark: str) -> str:
    """The first `sh` block after the comment `<!-- ci: MARK -->`; this is how .ci/run finds it too."""
    return sh_blocks(text[text.index(f"<!-- ci: {mark} -->") :])[0].strip()


def calls_of_stockroom(text: str) -> list[list[str]]:
    """The words after `stockroom` in each call of it that a page's `sh` blocks hold, comments left out."""
    calls = []
    for line in (line for block in sh_blocks(text) for line in block.splitlines()):
        for part in line.split("&&"):
            words = shlex.split(part, comments=True)
            while words and "=" in words[0]:
                words.pop(0)
            if words and Path(words[0]).name == "stockroom":
                calls.append(words[1:])
    return calls
