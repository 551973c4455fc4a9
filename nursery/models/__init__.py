"""The tables. Constraints live here and in the migrations; permissions and writing live in services."""

from nursery.models.attachments import Attachment
from nursery.models.audit import Change
from nursery.models.bags import Bag
from nursery.models.base import Base
from nursery.models.climates import Climate
from nursery.models.decisions import Decision
from nursery.models.evidence import Evidence
from nursery.models.lots import Lot, StoragePlace
from nursery.models.movements import Movement
from nursery.models.permits import Permit, PermitLine
from nursery.models.places import Container, Nursery, Population, Site
from nursery.models.plans import CollectionNeed, Draw, Plan, PlanLine
from nursery.models.plantings import Planting
from nursery.models.preferences import Preferences
from nursery.models.rule_sets import RuleSet, RuleVersion
from nursery.models.seed_tests import SeedTest
from nursery.models.species import Override, Species
from nursery.models.strategies import Strategy
from nursery.models.targets import Target
from nursery.models.trips import Trip
from nursery.models.uploads import Upload
from nursery.models.zones import Zone

__all__ = [
    "Attachment", "Bag", "Base", "Change", "Climate", "CollectionNeed", "Container", "Decision", "Draw",
    "Evidence", "Lot", "Movement", "Nursery", "Override", "Permit", "PermitLine", "Plan", "PlanLine", "Planting",
    "Population", "Preferences", "RuleSet", "RuleVersion", "SeedTest", "Site", "Species", "StoragePlace",
    "Strategy", "Target", "Trip", "Upload", "Zone",
]  # fmt: skip
