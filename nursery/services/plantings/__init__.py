"""Plants that went into the ground: of which lot, at which site, on which day, by whom and how densely."""

from nursery.services.plantings.arrived import Arrived, arrived, arrived_line, open_lines, prefilled
from nursery.services.plantings.density import Density, density_of
from nursery.services.plantings.listing import LISTING
from nursery.services.plantings.writing import (
    archive_planting,
    change_planting,
    create_planting,
    more_than_arrived,
    not_dispatched,
    restore_planting,
)

__all__ = [
    "LISTING",
    "Arrived",
    "Density",
    "archive_planting",
    "arrived",
    "arrived_line",
    "change_planting",
    "create_planting",
    "density_of",
    "more_than_arrived",
    "not_dispatched",
    "open_lines",
    "prefilled",
    "restore_planting",
]
