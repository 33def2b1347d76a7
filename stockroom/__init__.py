"""Kits, stock and orders for a heritage trim workshop."""

__version__ = "0.1.0"
