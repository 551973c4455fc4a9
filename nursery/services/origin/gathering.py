"""Lots and sites as the rules of origin take them, in a fixed number of queries whatever their number."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, Select, exists, select
from sqlalchemy.orm import Session

from nursery.models import Climate, Lot, Population, Site, Species, Strategy, Zone
from nursery.models.climates import Period
from nursery.planning.arrays import Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.rule_table import RuleTable
from nursery.planning.origin.strategies import Strategies, Terms
from nursery.services.origin.in_force import Followed, read_in_force
from nursery.services.origin.mothers import read_mothers
from nursery.services.zones import own_regions

Condition = ColumnElement[bool]
MEASURES = ("mean_annual_c", "annual_rain_mm", "coldest_month_min_c")


@dataclass(frozen=True)
class Places:
    """Sites with the rules and strategies that each follows, in the order of ``table``."""

    table: pd.DataFrame
    rules: RuleTable
    versions: Sequence[Followed]
    accepts: Strategies
    #: None for a site without a strategy of its own.
    terms: Sequence[Terms | None]

    def take(self, rows: Ints) -> Places:
        """These sites, in this order; one may come several times."""
        return Places(
            self.table.iloc[rows].reset_index(drop=True),
            self.rules,
            self.versions,
            Strategies(self.accepts.kind[rows], self.accepts.shares[rows]),
            [self.terms[row] for row in rows.tolist()],
        )

    def followed(self, row: int) -> Followed:
        """The version that one site follows."""
        return self.versions[int(self.table["rule_row"].to_numpy()[row])]


def read_lots(session: Session, *where: Condition) -> pd.DataFrame:
    """Lots that fulfil conditions on `Lot`, in order of their ids, with the columns that `rules.judge` takes.

    Beside those ``lot_id, lot_code, species_id, species_name, population_id, population_code, population_name,
    material, amount_mg, pieces, ripening_year``. In four queries, three more where lots were made from others.
    """
    wanted = select(Lot.id).where(*where)
    query = (
        select(
            Lot.id.label("lot_id"), Lot.code.label("lot_code"), Lot.species_id,
            Species.scientific_name.label("species_name"), Lot.material, Lot.amount_mg, Lot.pieces,
            Lot.ripening_year, Lot.is_held, Lot.mother_plants.label("most_mothers"), *population_columns(),
        )
        .join(Lot.population).join(Species, Species.id == Lot.species_id)
        .where(*where).order_by(Lot.id)
    )  # fmt: skip
    lots = _frame(session, query)
    mothers = read_mothers(session, wanted).reindex(lots["lot_id"]).reset_index(drop=True)
    populations = select(Lot.population_id).where(*where)
    climates = _climates(session, Climate.population_id, populations, Period.PRESENT)
    return pd.concat([lots, mothers, climates.reindex(lots["population_id"]).reset_index(drop=True)], axis=1)


def read_populations(session: Session, *where: Condition) -> pd.DataFrame:
    """Populations as if a lot of unknown mothers, covered by a permit, lay there; same columns, two queries."""
    query = select(Population.species_id, Population.fruiting_plants, *population_columns()).where(*where)
    found = _frame(session, query.order_by(Population.id)).assign(is_held=False)
    climates = _climates(session, Climate.population_id, select(Population.id).where(*where), Period.PRESENT)
    return pd.concat([found, climates.reindex(found["population_id"]).reset_index(drop=True)], axis=1)


def population_columns() -> tuple[Any, ...]:
    """What the rules read of a population."""
    return (
        Population.id.label("population_id"), Population.code.label("population_code"),
        Population.name.label("population_name"), Population.latitude, Population.longitude,
        Population.elevation_m, Population.region_code, Population.basin,
        Population.indigenous_status.label("status"), Population.category,
    )  # fmt: skip


def read_sites(session: Session, day: dt.date, *where: Condition) -> Places:
    """Sites that fulfil conditions on `Site`, in order of their ids, with what they follow on ``day``.

    ``table`` has the columns that `rules.judge` takes, and ``site_id, site_code, site_name``. In five queries, two
    more where official regions of single species are on the map.
    """
    query = select(
        Site.id.label("site_id"), Site.code.label("site_code"), Site.name.label("site_name"), Site.latitude,
        Site.longitude, Site.elevation_m, Site.region_code, Site.basin, Site.native_only, Site.least_category,
        Site.rule_set_id,
    ).where(*where).order_by(Site.id)  # fmt: skip
    sites = _frame(session, query)
    wanted = select(Site.id).where(*where)
    present = _climates(session, Climate.site_id, wanted).reindex(sites["site_id"]).reset_index(drop=True)
    followed = read_in_force(session, day)
    sets = [None if pd.isna(each) else int(each) for each in sites["rule_set_id"]]
    rows = {each: followed.row_of(each) for each in set(sets)}
    table = pd.concat([sites.assign(rule_row=np.array([rows[each] for each in sets], np.int64)), present], axis=1)
    table = _with_own_regions(session, table)
    terms = read_terms(session, wanted)
    own = [terms.get(site_id) for site_id in table["site_id"]]
    rules = RuleTable.of([one.rules for one in followed.versions])
    return Places(table, rules, followed.versions, Strategies.of(own), own)


def _with_own_regions(session: Session, table: pd.DataFrame) -> pd.DataFrame:
    """With the regions that the map has for single species at each site; a typed code is kept where it is one."""
    if not session.scalar(select(exists().where(Zone.species_id.is_not(None), Zone.archived_at.is_(None)))):
        return table
    found = own_regions(session, table["site_id"].tolist())
    typed = dict(zip(table["site_id"], table["region_code"], strict=True))
    told = [
        tuple(
            (species_id, typed[site_id] if typed[site_id] in codes else codes[0])
            for (species_id, _name), codes in found[site_id].items()
            if codes
        )
        for site_id in table["site_id"].tolist()
    ]
    return table.assign(own_regions=pd.Series(told, index=table.index, dtype=object))


def read_terms(session: Session, sites: Select[int]) -> dict[int, Terms]:
    """Strategies of sites by their ids."""
    found = session.scalars(select(Strategy).where(Strategy.archived_at.is_(None), Strategy.site_id.in_(sites)))
    return {each.site_id: terms_of(each) for each in found}


def terms_of(row: Strategy) -> Terms:
    """What a strategy says, for planning."""
    return Terms(
        row.kind, dict(row.shares), row.tolerance, row.least_populations, row.population_cap, row.family_cap,
        row.least_mothers,
    )  # fmt: skip


def _climates(session: Session, place: Any, wanted: Select[int], period: Period | None = None) -> pd.DataFrame:
    """Normals by place, those expected with ``expected_`` before their names unless one period is asked for."""
    columns = [getattr(Climate, name) for name in MEASURES]
    query = select(place.label("place"), Climate.period, *columns).where(place.in_(wanted))
    found = _frame(session, query if period is None else query.where(Climate.period == period))
    is_expected = (found["period"] == Period.EXPECTED).to_numpy(np.bool_)
    numbers = found.set_index("place")[list(MEASURES)].astype(np.float64)
    if period is not None:
        return numbers
    expected = numbers[is_expected].add_prefix("expected_")
    return numbers[~is_expected].join(expected, how="outer")


def _frame(session: Session, query: Select[*tuple[Any, ...]]) -> pd.DataFrame:
    result = session.execute(query)
    return pd.DataFrame([tuple(row) for row in result], columns=list(result.keys()))
