"""What the columns and tables of a report are called, and how their cells are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from babel.support import LazyProxy

from nursery.i18n import lazy as _l
from nursery.models.supplies import SupplyUnit
from nursery.services.batches.words import CAUSE_LABELS, STAGE_LABELS
from nursery.services.costing.explaining import PART_LABELS
from nursery.services.costing.words import JOB_LABELS
from nursery.services.supplies.words import UNIT_LABELS
from nursery.services.surveys.words import CAUSE_LABELS as DEATH_CAUSES

Kind = Literal["text", "code", "taxon", "number", "percent", "money", "date", "season", "word", "yes"]

OVERRIDES = {
    "origin": _l("Origin: seed that the site's rules stop"),
    "permit": _l("Permit: a lot that no permit covers"),
    "paper": _l("Papers: a load without one that applies"),
    "substitute": _l("Substitute: another batch than planned"),
}


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, how its cells are written, and how wide it is beside others."""

    label: LazyProxy
    kind: Kind = "number"
    digits: int = 0
    width: float = 1.0
    words: Mapping[Any, LazyProxy] | None = None


COLUMNS: dict[str, Column] = {
    "species": Column(_l("Species"), "taxon", width=2.1),
    "site": Column(_l("Site"), "text", width=1.9),
    "where": Column(_l("Site"), "text", width=1.7),
    "to_site": Column(_l("Site"), "text", width=1.7),
    "population": Column(_l("Stand"), "text", width=1.9),
    "region": Column(_l("Region"), "code", width=1.0),
    "wanted": Column(_l("Wanted")),
    "grown": Column(_l("Grown")),
    "sent": Column(_l("Sent")),
    "missing": Column(_l("Missing")),
    "received": Column(_l("Taken over")),
    "planted": Column(_l("Planted")),
    "replaced": Column(_l("Replacements"), width=1.45),
    "reached": Column(_l("Reached"), "percent"),
    "planting_season": Column(_l("Planted in"), "season", width=1.1),
    "survey_year": Column(_l("Year"), width=0.7),
    "surveyed": Column(_l("In plots")),
    "alive": Column(_l("Alive")),
    "survival": Column(_l("Survival"), "percent"),
    "low": Column(_l("Low (95 %)"), "percent", width=1.25),
    "high": Column(_l("High (95 %)"), "percent", width=1.3),
    "replaced_alive": Column(_l("Replacements alive"), width=1.4),
    "death_cause": Column(_l("Cause of death"), "word", width=2.5, words=DEATH_CAUSES),
    "dead": Column(_l("Dead plants")),
    "share": Column(_l("Share"), "percent", 1),
    "plants": Column(_l("Plants")),
    "populations": Column(_l("Stands"), width=0.9),
    "local": Column(_l("Local share"), "percent"),
    "effective": Column(_l("Effective mothers"), digits=1, width=1.2),
    "share_of_species": Column(_l("Share of the species there"), "percent", width=1.3),
    "is_local": Column(_l("Region of the site"), "yes", width=1.0),
    "lots": Column(_l("Lots"), width=0.8),
    "lot": Column(_l("Lot"), "code", width=1.7),
    "mothers": Column(_l("Mothers")),
    "grams": Column(_l("Clean seed, g"), digits=1, width=1.2),
    "fruit_grams": Column(_l("Fruit in hand, g"), digits=1, width=1.2),
    "pieces": Column(_l("Cuttings or counted seed"), width=1.3),
    "permits": Column(_l("Permits"), width=0.9),
    "permit": Column(_l("Permit"), "code", width=1.7),
    "collected_on": Column(_l("Collected on"), "date", width=1.3),
    "stage": Column(_l("Stage"), "word", width=1.5, words=STAGE_LABELS),
    "cause": Column(_l("Cause"), "word", width=1.8, words=CAUSE_LABELS),
    "lost": Column(_l("Plants lost")),
    "lost_share": Column(_l("Lost of lost and grown"), "percent", width=1.3),
    "batches": Column(_l("Batches"), width=0.9),
    "seeds": Column(_l("Seeds or cuttings"), width=1.1),
    "viability": Column(_l("Viability"), "percent"),
    "emergence": Column(_l("Emergence"), "percent", width=1.2),
    "establishment": Column(_l("Establishment"), "percent", width=1.45),
    "hardening": Column(_l("Hardening"), "percent", width=1.1),
    "cull": Column(_l("Graded out"), "percent", width=0.9),
    "plants_per_kg": Column(_l("Plants per kg of seed"), width=1.1),
    "money": Column(_l("Money"), "money", 2, 1.3),
    "each_grown": Column(_l("A plant grown"), "money", 3, 1.2),
    "in_the_ground": Column(_l("Planted in all")),
    "each_planted": Column(_l("A plant planted"), "money", 3, 1.2),
    "surviving": Column(_l("Surviving, reckoned"), width=1.2),
    "each_surviving": Column(_l("A plant surviving"), "money", 3, 1.2),
    "part": Column(_l("Part of the costs"), "word", width=2.0, words=PART_LABELS),
    "funder": Column(_l("Funder"), "text", width=2.0),
    "given": Column(_l("Hours given"), digits=2),
    "in_kind": Column(_l("Value of hours given"), "money", 2, 1.3),
    "expense": Column(_l("What for"), "text", width=2.5),
    "supply": Column(_l("Supply"), "text", width=2.5),
    "unit": Column(_l("Unit"), "word", words={unit.value: UNIT_LABELS[unit] for unit in SupplyUnit}),
    "used": Column(_l("Used"), digits=1),
    "bought": Column(_l("Bought"), digits=1),
    "job": Column(_l("Work"), "word", width=2.0, words=JOB_LABELS),
    "paid": Column(_l("Hours paid"), digits=2),
    "hours": Column(_l("Hours"), digits=2),
    "day": Column(_l("Day"), "date", width=1.2),
    "people": Column(_l("Who"), "text", width=2.2),
    "volunteers": Column(_l("Volunteers"), width=1.1),
    "area_m2": Column(_l("Ground, m²")),
    "per_ha": Column(_l("Plants per ha"), width=1.0),
    "what": Column(_l("What happened"), "text", width=2.6),
    "why": Column(_l("Why"), "text", width=2.2),
    "action": Column(_l("What was done"), "text", width=2.2),
    "override": Column(_l("Rule"), "word", width=1.7, words=OVERRIDES),
    "subject": Column(_l("What"), "code", width=1.4),
    "reason": Column(_l("Reason"), "text", width=2.4),
    "person": Column(_l("Person"), "text", width=1.3),
    "withdrawn_on": Column(_l("Withdrawn"), "date", width=1.1),
}
