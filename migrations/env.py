"""Alembic's way in. `stockroom.store.upgrade` runs it with a connection whose transaction has begun."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
