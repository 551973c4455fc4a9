"""The tables. Constraints live here and in the migrations; permissions and writing live in services."""

from nursery.models.audit import Change
from nursery.models.base import Base
from nursery.models.lots import Lot, StoragePlace
from nursery.models.places import Container, Nursery, Population, Site
from nursery.models.plans import CollectionNeed, Draw, Plan, PlanLine
from nursery.models.preferences import Preferences
from nursery.models.species import Override, Species
from nursery.models.targets import Target
from nursery.models.trips import Trip
from nursery.models.uploads import Upload

__all__ = [
    "Base", "Change", "CollectionNeed", "Container", "Draw", "Lot", "Nursery", "Override", "Plan", "PlanLine",
    "Population", "Preferences", "Site", "Species", "StoragePlace", "Target", "Trip", "Upload",
]  # fmt: skip
