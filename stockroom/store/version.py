"""The version of the tables, for whoever asks without loading them."""

from __future__ import annotations

SCHEMA = 4
"""It rises with every change of the tables, and has the number of the migration that brought the change."""
