"""Supplies: records, stock ledger, orders, needs by week."""

from nursery.web.supplies import weeks
from nursery.web.supplies.pages import bp

__all__ = ["bp", "weeks"]
