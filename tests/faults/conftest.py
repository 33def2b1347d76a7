"""The demo shop that the shell's tests make once serves here too."""

from tests.cli.conftest import demo_made, desk

__all__ = ["demo_made", "desk"]
