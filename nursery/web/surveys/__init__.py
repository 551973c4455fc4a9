"""Survival surveys: what was counted, what it says of sites, and replacements for what died."""

from nursery.web.surveys.replacing import bp

__all__ = ["bp"]
