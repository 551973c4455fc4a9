"""The yearly declaration: seed and plants of a campaign by species, category and region, from the ledgers."""

from nursery.services.declaration.summing import COLUMNS, Declared, campaigns, declare

__all__ = ["COLUMNS", "Declared", "campaigns", "declare"]
