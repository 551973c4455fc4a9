"""The list of zones."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.models import Species
from nursery.models.zones import Zone, ZoneKind
from nursery.services.listing import Column, Filter, Listing, choice_options, options_of, species_options
from nursery.services.zones.words import KIND_LABELS

LISTING = Listing(
    model=Zone,
    order="code",
    joins=lambda query: query.outerjoin(Species, Zone.species_id == Species.id),
    columns=(
        Column("code", _l("Code"), Zone.code, "code", link=("zones.detail", Zone.id)),
        Column("name", _l("Name"), Zone.name),
        Column("kind", _l("What it is"), Zone.kind, "choice", choices=KIND_LABELS),
        Column("species", _l("Species"), Species.scientific_name, "taxon", nullable=True),
        Column("lowest", _l("From"), Zone.lowest_m, "number", unit="m"),
        Column("highest", _l("Up to"), Zone.highest_m, "number", unit="m"),
        Column("jurisdiction", _l("Jurisdiction"), Zone.jurisdiction),
        Column("source", _l("Source"), Zone.source, on_screen=False),
        Column("notes", _l("Notes"), Zone.notes, on_screen=False),
    ),
    search=(Zone.code, Zone.name, Zone.jurisdiction),
    search_species=True,
    filters=(
        Filter("kind", _l("What it is"), Zone.kind, choice_options(KIND_LABELS), parse=ZoneKind),
        Filter("species", _l("Species"), Species.key, species_options(Zone)),
        Filter("jurisdiction", _l("Jurisdiction"), Zone.jurisdiction, options_of(Zone.jurisdiction)),
    ),
)
