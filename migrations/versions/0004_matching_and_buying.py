"""Cloth that truly matches, swatches and substitutes; the weekly reorder run and what is bought by it.

Revision 0004.
"""

from __future__ import annotations

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Nothing yet but the number: what each part needs is added here until this revision is published."""
