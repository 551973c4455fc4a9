"""The species catalogue: figures with their sources, read from files that a person can read and mend."""

from nursery.catalog.cautions import caution_text
from nursery.catalog.checking import check
from nursery.catalog.entries import (
    Catalog,
    Collecting,
    Evidence,
    Phase,
    Protocol,
    Rate,
    Seed,
    Source,
    SpeciesEntry,
    Storage,
)
from nursery.catalog.figures import Figure, FigureValue
from nursery.catalog.messages import Message
from nursery.catalog.naming import find_species, nearest
from nursery.catalog.overriding import override_fault, with_learned, with_overrides
from nursery.catalog.reading import load_catalog

__all__ = [
    "Catalog",
    "Collecting",
    "Evidence",
    "Figure",
    "FigureValue",
    "Message",
    "Phase",
    "Protocol",
    "Rate",
    "Seed",
    "Source",
    "SpeciesEntry",
    "Storage",
    "caution_text",
    "check",
    "find_species",
    "load_catalog",
    "nearest",
    "override_fault",
    "with_learned",
    "with_overrides",
]
