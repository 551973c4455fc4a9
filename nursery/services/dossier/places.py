"""Sites, stands, trips and permits of a dossier, as tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.i18n import gettext as _
from nursery.models import Lot, Permit, Population, Site, Species, Trip
from nursery.services.dossier.scope import Scope
from nursery.services.dossier.words import coded
from nursery.services.origin.words import BASIC_LABELS, CATEGORY_LABELS
from nursery.services.populations import STATUS_LABELS
from nursery.tabular.packages import Column, Link, Table


@dataclass(frozen=True)
class Gathered:
    """Records that several tables are made of."""

    sites: Sequence[Site]
    lots: Sequence[Lot]
    stands: Sequence[Population]


def gather_records(session: Session, scope: Scope) -> Gathered:
    """Sites, lots and stands, in two queries."""
    sites = session.scalars(
        select(Site)
        .where(Site.id.in_(scope.site_ids))
        .options(joinedload(Site.recipient), joinedload(Site.rule_set))
        .order_by(Site.code)
    ).all()
    lots = session.scalars(
        select(Lot)
        .where(Lot.id.in_(scope.lot_ids))
        .options(
            joinedload(Lot.species), joinedload(Lot.trip), joinedload(Lot.permit), joinedload(Lot.storage_place),
            joinedload(Lot.population).joinedload(Population.species),
        )
        .order_by(Lot.code)
    ).all()  # fmt: skip
    stands = sorted({lot.population for lot in lots}, key=lambda one: one.code)
    return Gathered(sites, lots, stands)


def species_table(gathered: Gathered) -> Table:
    """Every species that any table names."""
    found: set[Species] = {lot.species for lot in gathered.lots} | {one.species for one in gathered.stands}
    rows = [(one.scientific_name, one.authorship) for one in sorted(found, key=lambda each: each.scientific_name)]
    columns = [Column("species", _("Species"), required=True), Column("authorship", _("Authorship"))]
    return Table("species", _("Species"), columns, rows, ("species",))


def sites_table(gathered: Gathered) -> Table:
    """Planting sites."""
    columns = [
        Column("site", _("Site code"), required=True), Column("name", _("Name")),
        Column("latitude", _("Latitude"), "number", _("Degrees north, WGS 84."), digits=5),
        Column("longitude", _("Longitude"), "number", _("Degrees east, WGS 84."), digits=5),
        Column("elevation_m", _("Elevation (m)"), "number"), Column("area_ha", _("Area (ha)"), "number", digits=2),
        Column("basin", _("Basin")), Column("region", _("Region of provenance")),
        Column("planting_permit", _("Planting permit")), Column("recipient", _("Who takes plants over")),
        Column("rule_set", _("Rules of origin"), about=_("Empty where the site follows the default set.")),
    ]  # fmt: skip
    rows = [
        (
            one.code, one.name, one.latitude, one.longitude, one.elevation_m, one.area_ha, one.basin,
            one.region_code, one.planting_permit, one.recipient.name if one.recipient else "",
            one.rule_set.name if one.rule_set else "",
        )
        for one in gathered.sites
    ]  # fmt: skip
    return Table("sites", _("Planting sites"), columns, rows, ("site",))


def populations_table(gathered: Gathered, scope: Scope) -> Table:
    """Stands where material was collected; sensitive ones less exactly."""
    columns = [
        Column("population", _("Population"), required=True), Column("name", _("Name")),
        Column("species", _("Species"), required=True),
        Column("latitude", _("Latitude"), "number", _("Degrees north, WGS 84."), digits=5),
        Column("longitude", _("Longitude"), "number", _("Degrees east, WGS 84."), digits=5),
        Column(
            "uncertainty_m", _("May be off by (m)"), "integer",
            _("Of sensitive stands, rounded to a tenth of a degree. Empty where the place is told as measured."),
        ),
        Column("is_sensitive", _("Sensitive place"), "boolean"),
        Column("elevation_m", _("Elevation (m)"), "number"), Column("basin", _("Basin")),
        Column("region", _("Region of provenance")),
        Column("country", _("Country"), about=_("ISO 3166-1 alpha-2.")),
        Column("status", _("Indigenous status"), words=coded(STATUS_LABELS)),
        Column("category", _("Category"), words=coded(CATEGORY_LABELS)),
        Column("basic_material", _("Basic material"), words=coded(BASIC_LABELS)),
        Column("register_reference", _("Register reference")),
        Column("fruiting_plants", _("Fruiting plants"), "integer"),
    ]  # fmt: skip
    rows = []
    for one in gathered.stands:
        told = scope.asked.place(one.latitude, one.longitude, sensitive=one.is_sensitive)
        rows.append(
            (
                one.code, one.name, one.species.scientific_name, told.latitude, told.longitude, told.metres,
                one.is_sensitive, None if told.metres else one.elevation_m, one.basin, one.region_code,
                one.country,
                one.indigenous_status.value, one.category.value, one.basic_material.value, one.register_reference,
                one.fruiting_plants,
            )
        )  # fmt: skip
    links = [Link(("species",), "species", ("species",))]
    return Table("populations", _("Populations"), columns, rows, ("population",), links)


def trips_table(gathered: Gathered, scope: Scope) -> Table:
    """Outings on which the lots were collected."""
    trips: set[Trip] = {lot.trip for lot in gathered.lots if lot.trip is not None}
    columns = [
        Column("trip", _("Trip"), required=True), Column("collected_on", _("Collected on"), "date"),
        Column("people", _("People")), Column("weather", _("Weather")),
        Column("hours", _("Hours of all"), "number", digits=1),
    ]  # fmt: skip
    rows = [
        (one.code, one.collected_on, scope.asked.name(one.people), one.weather, one.hours)
        for one in sorted(trips, key=lambda each: each.code)
    ]
    return Table("trips", _("Collection trips"), columns, rows, ("trip",))


def permits_table(gathered: Gathered, scope: Scope) -> Table:
    """Collecting permits of the lots."""
    permits: set[Permit] = {lot.permit for lot in gathered.lots if lot.permit is not None}
    columns = [
        Column("permit_id", _("Our number"), "integer", required=True), Column("number", _("Number")),
        Column("authority", _("Authority")), Column("holder", _("Holder")),
        Column("valid_from", _("Valid from"), "date"), Column("valid_to", _("Valid to"), "date"),
        Column("conditions", _("Conditions")),
    ]  # fmt: skip
    rows = [
        (one.id, one.number, one.authority, scope.asked.name(one.holder), one.valid_from, one.valid_to,
         one.conditions)
        for one in sorted(permits, key=lambda each: each.id)
    ]  # fmt: skip
    return Table("permits", _("Collecting permits"), columns, rows, ("permit_id",))
