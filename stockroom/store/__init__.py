"""What is kept: tables, the shop's database, the ledger, upgrades. The only room that knows SQLAlchemy."""
