"""What was planted, and what lived, as tables."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from nursery.i18n import gettext as _
from nursery.models import Planting, Site, Survey, SurveyCount, SurveyPlot
from nursery.planning.intervals import wilson_interval
from nursery.services.dossier.growing import TO_BATCH
from nursery.services.dossier.places import Gathered
from nursery.services.dossier.scope import Scope
from nursery.services.dossier.seed import TO_LOT
from nursery.tabular.packages import Column, Link, Table

_TO_SITE = Link(("site",), "sites", ("site",))


def plantings_table(session: Session, gathered: Gathered, scope: Scope, batches: dict[int, str]) -> Table:
    """Plantings that are not archived."""
    own: defaultdict[int, float] = defaultdict(float)
    for row in scope.planted:
        own[row.id] += row.plants
    lots = {lot.id: lot.code for lot in gathered.lots}
    columns = [
        Column("planting_id", _("Our number"), "integer", required=True),
        Column("site", _("Site code"), required=True),
        Column("planted_on", _("Planted on"), "date"), Column("lot", _("Lot"), required=True),
        Column("batch", _("Batch")),
        Column("plants", _("Plants"), "integer"),
        Column(
            "plants_told", _("Plants told of here"), "number",
            _("Of a lot’s dossier, those that come from the lot."), digits=1,
        ),
        Column("is_replacement", _("Replacement"), "boolean", _("Planted where others had died.")),
        Column("area_m2", _("Ground (m²)"), "number"),
        Column("per_ha", _("Plants per hectare"), "number"), Column("people", _("Who planted")),
        Column("volunteers", _("Volunteers"), "integer"), Column("hours", _("Hours of all"), "number", digits=1),
    ]  # fmt: skip
    found = session.scalars(
        select(Planting)
        .where(Planting.id.in_(scope.planting_ids))
        .options(joinedload(Planting.site))
        .order_by(Planting.planted_on, Planting.id)
    )
    rows = [
        (
            one.id, one.site.code, one.planted_on, lots[one.lot_id],
            batches[one.batch_id] if one.batch_id else None, one.plants, own[one.id], one.is_replacement,
            one.area_m2, one.plants / one.area_m2 * 10_000 if one.area_m2 else None,
            scope.asked.name(one.people), one.volunteers, one.hours,
        )
        for one in found
    ]  # fmt: skip
    return Table("plantings", _("Plantings"), columns, rows, ("planting_id",), [_TO_SITE, TO_LOT, TO_BATCH])


def survey_tables(session: Session, gathered: Gathered, scope: Scope) -> list[Table]:
    """Looks at marked plots, withdrawn ones left out, and what lived in them."""
    wanted = select(Survey).join(Survey.plot).join(Site).where(
        SurveyPlot.site_id.in_(scope.site_ids), Survey.withdrawn_at.is_(None)
    )  # fmt: skip
    if scope.asked.season is not None:
        wanted = wanted.where(Survey.season == scope.asked.season)
    species_id = scope.lot.species_id if scope.lot else None
    found = session.scalars(
        wanted.options(
            joinedload(Survey.plot).joinedload(SurveyPlot.site),
            selectinload(Survey.counts).options(joinedload(SurveyCount.species), joinedload(SurveyCount.lot)),
        ).order_by(Survey.surveyed_on, Survey.id)
    ).all()
    columns = [
        Column("survey_id", _("Our number"), "integer", required=True),
        Column("site", _("Site code"), required=True),
        Column("plot", _("Plot")), Column("plot_m2", _("Plot (m²)"), "number"),
        Column("season", _("Planted in season"), "integer", _("First year of the planting winter.")),
        Column("year", _("Year after planting"), "integer"), Column("surveyed_on", _("Surveyed on"), "date"),
        Column("person", _("Person")),
    ]  # fmt: skip
    rows = [
        (
            one.id, one.plot.site.code, one.plot.name, one.plot.area_m2, one.season, one.year, one.surveyed_on,
            scope.asked.name(one.person),
        )
        for one in found
    ]  # fmt: skip
    counted = [(one, count) for one in found for count in one.counts if species_id in {None, count.species_id}]
    surveys = Table("surveys", _("Survival surveys"), columns, rows, ("survey_id",), [_TO_SITE])
    return [surveys, _counts_table(counted, {lot.code for lot in gathered.lots})]


def _counts_table(counted: Sequence[tuple[Survey, SurveyCount]], lots: set[str]) -> Table:
    columns = [
        Column("survey_id", _("Survey"), "integer", required=True), Column("species", _("Species"), required=True),
        Column("lot", _("Lot"), about=_("Where all of them are of one lot.")),
        Column("planted", _("Planted first"), "integer"), Column("alive", _("Alive"), "integer"),
        Column("survival", _("Survival"), "fraction", digits=1),
        Column("low", _("Low"), "fraction", _("Of the 95 % interval (Wilson)."), digits=1),
        Column("high", _("High"), "fraction", digits=1),
        Column("causes", _("Causes of death"), about=_("cause=plants, with semicolons between them.")),
        Column("replacements_alive", _("Replacements alive"), "integer", _("Never added to the survivors.")),
        Column("replaced", _("To be replaced"), "integer", _("Plants handed on to a target of a later season.")),
    ]  # fmt: skip
    low, high = wilson_interval([one.alive for _survey, one in counted], [one.planted for _survey, one in counted])
    rows = [
        (
            survey.id, one.species.scientific_name, one.lot.code if one.lot and one.lot.code in lots else None,
            one.planted, one.alive, one.alive / one.planted, down, up,
            ";".join(f"{cause}={plants}" for cause, plants in sorted(one.causes.items())),
            one.replacements_alive, one.replaced,
        )
        for (survey, one), down, up in zip(counted, low.tolist(), high.tolist(), strict=True)
    ]  # fmt: skip
    links = [Link(("survey_id",), "surveys", ("survey_id",)), TO_LOT]
    return Table("survey_counts", _("What lived in the plots"), columns, rows, ("survey_id", "species"), links)
