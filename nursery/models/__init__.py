"""The tables. Constraints live here and in the migrations; permissions and writing live in services."""

from nursery.models.accounts import Account, AccountRole, ApiToken, FailedSignIn, OneTimeLink, SignIn
from nursery.models.attachments import Attachment
from nursery.models.audit import Change, Seal
from nursery.models.bags import Bag
from nursery.models.base import Base
from nursery.models.batches import Batch, Bench, Count, Placement, PlantMovement
from nursery.models.climates import Climate
from nursery.models.decisions import Decision
from nursery.models.dispatches import Dispatch, DispatchLine, FetchedPlants, ReturnedPlants
from nursery.models.evidence import Evidence
from nursery.models.health import HygieneCheck, Quarantine, Scouting, Treatment
from nursery.models.lots import Lot, StoragePlace
from nursery.models.movements import Movement
from nursery.models.papers import Paper, QualityCheck
from nursery.models.permits import Permit, PermitLine
from nursery.models.places import Container, Nursery, Population, Site
from nursery.models.plans import CollectionNeed, Draw, NeedPart, Plan, PlanLine
from nursery.models.plantings import Planting
from nursery.models.preferences import Preferences
from nursery.models.recipients import Recipient
from nursery.models.reports import Deviation, SeasonReport
from nursery.models.rule_sets import RuleSet, RuleVersion
from nursery.models.rulings import Ruling
from nursery.models.seed_tests import SeedTest
from nursery.models.species import Override, Species
from nursery.models.strategies import Strategy
from nursery.models.supplies import Expense, StageRoom, Supply, SupplyMovement
from nursery.models.surveys import Survey, SurveyCount, SurveyPlot
from nursery.models.targets import Target
from nursery.models.trips import Trip
from nursery.models.uploads import Upload
from nursery.models.work import Person, StandardTime, Task, WorkTime
from nursery.models.zones import Zone

__all__ = [
    "Account", "AccountRole", "ApiToken", "Attachment", "Bag", "Base", "Batch", "Bench", "Change", "Climate",
    "CollectionNeed", "Container", "Count", "Decision", "Deviation", "Dispatch", "DispatchLine", "Draw",
    "Evidence", "Expense", "FailedSignIn", "FetchedPlants", "HygieneCheck", "Lot", "Movement", "NeedPart",
    "Nursery", "OneTimeLink", "Override", "Paper", "Permit", "PermitLine", "Person", "Placement", "Plan",
    "PlanLine", "PlantMovement", "Planting", "Population", "Preferences", "QualityCheck", "Quarantine",
    "Recipient", "ReturnedPlants", "RuleSet", "RuleVersion", "Ruling", "Scouting", "Seal", "SeasonReport",
    "SeedTest", "SignIn", "Site", "Species", "StageRoom", "StandardTime", "StoragePlace", "Strategy", "Supply",
    "SupplyMovement", "Survey", "SurveyCount", "SurveyPlot", "Target", "Task", "Treatment", "Trip", "Upload",
    "WorkTime", "Zone",
]  # fmt: skip
