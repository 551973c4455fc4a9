"""The log of what went otherwise than planned: why, and what was done."""

from nursery.services.deviations.records import BOUNDS, LISTING, change_deviation, create_deviation
from nursery.services.deviations.suggesting import Suggestion, suggest

__all__ = ["BOUNDS", "LISTING", "Suggestion", "change_deviation", "create_deviation", "suggest"]
