"""Expenses."""

from nursery.web.expenses.pages import bp

__all__ = ["bp"]
