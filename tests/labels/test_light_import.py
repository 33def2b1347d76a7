"""Importing the room costs nothing: the heavy libraries come with the first page."""

import subprocess
import sys

PROBE = """
import sys
import labels
heavy = [name for name in ("reportlab", "barcode", "fontpkg_noto_sans", "PIL", "stockroom") if name in sys.modules]
print(",".join(heavy))
"""


def test_importing_labels_loads_no_drawing_library() -> None:
    done = subprocess.run([sys.executable, "-c", PROBE], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == ""
