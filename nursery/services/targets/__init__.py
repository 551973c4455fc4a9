"""Planting targets: site, species and season, and how many plants are wanted there."""

from nursery.services.targets.checking import MOST_PLANTS, find_twin
from nursery.services.targets.listing import LISTING, SeasonTotal, season_totals
from nursery.services.targets.meaning import Wanted, mix_of_site, wanted_of
from nursery.services.targets.writing import change_target, create_target, restore_target

__all__ = [
    "LISTING",
    "MOST_PLANTS",
    "SeasonTotal",
    "Wanted",
    "change_target",
    "create_target",
    "find_twin",
    "mix_of_site",
    "restore_target",
    "season_totals",
    "wanted_of",
]
