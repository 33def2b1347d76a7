"""`python -m stockroom` is the same program as `stockroom`."""

from __future__ import annotations

from stockroom.cli import main

if __name__ == "__main__":
    main()
