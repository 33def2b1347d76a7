"""No real maker, brand, person or program is named anywhere, where the list of such names is at hand."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.house.tree import ROOT

NAMECHECK = ROOT.parent / "shared" / "tools" / "namecheck"


@pytest.mark.skipif(
    not (NAMECHECK.is_file() and (ROOT / ".git").exists()), reason="the list of names is not beside this checkout"
)
def test_nothing_real_is_named() -> None:
    done = subprocess.run([sys.executable, str(NAMECHECK)], cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert (done.returncode, done.stdout) == (0, ""), done.stdout + done.stderr
