"""The short facts of a dossier, and its chain from stand to plant by rows."""

from __future__ import annotations

from typing import Any

from nursery.i18n import format_date, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.models import Lot, Site
from nursery.services.dossier.asking import Basis
from nursery.services.dossier.gathering import Dossier
from nursery.services.dossier.printing import NOTHING
from nursery.services.ledger.words import held_text


def facts_of(dossier: Dossier) -> list[tuple[str, str]]:
    """What a hurried reader wants to know."""
    subject = dossier.subject
    head = _site_facts(subject) if isinstance(subject, Site) else _lot_facts(subject)
    return [*head, *_numbers(dossier)]


def _site_facts(site: Site) -> list[tuple[str, str]]:
    return [
        (_("Planting site"), f"{site.code} · {site.name}"),
        (_("Place"), f"{site.latitude:.5f}, {site.longitude:.5f} (WGS 84)"),
        (_("Region of provenance"), site.region_code or NOTHING),
        (_("River basin"), site.basin or NOTHING),
        (_("Planting permit"), site.planting_permit or NOTHING),
    ]


def _lot_facts(lot: Lot) -> list[tuple[str, str]]:
    return [
        (_("Lot"), lot.code),
        (_("Species"), lot.species.scientific_name),
        (_("Population"), f"{lot.population.code} · {lot.population.name}"),
        (_("Held today"), held_text(lot)),
    ]


def _numbers(dossier: Dossier) -> list[tuple[str, str]]:
    scope = dossier.scope
    basis = next(iter(scope.origins), None)
    origins = scope.origins.get(basis) if basis else None
    collected = [one for one in origins.lots if one.collected] if origins else []
    stands = {one.lot.population_code for one in collected}
    found = [
        (_("Planted"), ngettext("%(num)s plant", "%(num)s plants", scope.plants)),
        (
            _("Sent, not planted"),
            ngettext("%(num)s plant", "%(num)s plants", round(sum(row.plants for row in scope.sent))),
        ),
        (_("Growing"), ngettext("%(num)s plant", "%(num)s plants", round(scope.growing))),
        (
            _("Planned"),
            ngettext("%(num)s plant", "%(num)s plants", round(sum(row.plants for row in scope.planned))),
        ),
        (
            _("Collected from"),
            _(
                "%(stands)s by %(lots)s",
                stands=ngettext("%(num)s population", "%(num)s populations", len(stands)),
                lots=ngettext("%(num)s lot", "%(num)s lots", len(collected)),
            ),
        ),
        (_("Mother plants"), _mothers(dossier, {one.lot.code for one in collected})),
    ]
    if origins and origins.mothers:
        known = _("of %(share)s of the plants", share=format_percent(min(origins.known, 1.0), 1))
        found.append((_("Mothers known"), known))
    counted = _latest_counts(dossier)
    if counted:
        planted, alive = sum(row["planted"] for row in counted), sum(row["alive"] for row in counted)
        found.append(
            (
                _("Alive in plots"),
                _(
                    "%(alive)s of %(planted)s plants, %(share)s", alive=format_number(alive),
                    planted=format_number(planted), share=format_percent(alive / planted, 1),
                ),
            )
        )  # fmt: skip
    return found


def _latest_counts(dossier: Dossier) -> list[dict[str, Any]]:
    """The last count of each species of a planting in each plot: a plant that was looked at in year 1 and in
    year 3 is one plant."""
    surveys = {row["survey_id"]: row for row in dossier.tables["surveys"].records()}
    latest: dict[tuple[Any, ...], tuple[tuple[Any, ...], dict[str, Any]]] = {}
    for count in dossier.tables["survey_counts"].records():
        survey = surveys[count["survey_id"]]
        planting = (*(survey[name] for name in ("site", "plot", "season")), count["species"])
        age = (survey["year"], survey["surveyed_on"])
        if planting not in latest or latest[planting][0] < age:
            latest[planting] = age, count
    return [count for _age, count in latest.values()]


def _mothers(dossier: Dossier, codes: set[str]) -> str:
    sampled = [row["mother_plants"] for row in dossier.tables["lots"].records() if row["lot"] in codes]
    known = [number for number in sampled if number is not None]
    told = ngettext("%(num)s sampled", "%(num)s sampled", sum(known))
    if len(known) == len(sampled):
        return told
    without = ngettext("not counted in %(num)s lot", "not counted in %(num)s lots", len(sampled) - len(known))
    return f"{told}, {without}"


def stand_rows(dossier: Dossier, basis: Basis) -> list[list[str]]:
    """One row a collected lot behind the plants: stand, lot, day, trip, permit, mothers, share and plants."""
    origins = dossier.scope.origins.get(basis)
    lots = {row["lot"]: row for row in dossier.tables["lots"].records()}
    rows = []
    for one in origins.lots if origins else ():
        if not one.collected or origins is None:
            continue
        lot = lots[one.lot.code]
        plants = format_number(one.share * origins.plants, 1) if dossier.scope.site is not None else NOTHING
        rows.append(
            [
                f"{one.lot.population_code} {one.lot.population_name}", one.lot.code,
                format_date(one.lot.collected_on), one.lot.trip_code or NOTHING, one.lot.permit_number or NOTHING,
                NOTHING if lot["mother_plants"] is None else format_number(lot["mother_plants"]),
                format_percent(min(one.share, 1.0), 1), plants,
            ]
        )  # fmt: skip
    return rows
