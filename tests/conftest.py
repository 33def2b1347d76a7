"""Fixtures that every test may ask for."""

from tests.databases import (
    cleaned_databases,
    database,
    empty_database,
    postgresql_template,
    run_folder,
    server,
    shop,
    sqlite_shop,
    sqlite_template,
)

__all__ = [
    "cleaned_databases",
    "database",
    "empty_database",
    "postgresql_template",
    "run_folder",
    "server",
    "shop",
    "sqlite_shop",
    "sqlite_template",
]
