"""Tables of verdicts: all lots of a species at all sites, one lot at every site, every lot at one site."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Lot, Population, Site, Species, Target
from nursery.planning.arrays import Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.rule_table import LEVELS, NOT_JUDGED, RULES
from nursery.planning.origin.strategies import SOURCES
from nursery.services.origin.gathering import Places, read_lots, read_sites
from nursery.services.origin.verdicts import Cell, cells, decided_pairs, judge_all

#: Lots and sites that a page shows at once, and pairs that a file may hold.
MOST_LOTS, MOST_SITES, MOST_PAIRS = 25, 6, 300_000


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person wants to see: parts of names or codes, and which page of lots and of sites, from 0."""

    lot: str = ""
    site: str = ""
    #: Only sites with an open target of the species.
    wanted: bool = True
    lot_page: int = 0
    site_page: int = 0


@dataclass(frozen=True)
class Matrix:
    """One page of the table, and how many lots and sites there are in all."""

    species: Species
    lots: Sequence[Mapping[str, Any]]
    sites: Sequence[Mapping[str, Any]]
    cells: Mapping[tuple[int, int], Cell]
    lots_in_all: int
    sites_in_all: int


def species_with_lots(session: Session) -> Sequence[Species]:
    """Species of which there are lots, by name."""
    held = select(Lot.species_id).where(Lot.archived_at.is_(None))
    return session.scalars(select(Species).where(Species.id.in_(held)).order_by(Species.scientific_name)).all()


def wanted_species(session: Session, site_id: int) -> Sequence[Species]:
    """Species that a site has open targets of, by name."""
    wanted = select(Target.species_id).where(Target.site_id == site_id, Target.archived_at.is_(None))
    return session.scalars(select(Species).where(Species.id.in_(wanted)).order_by(Species.scientific_name)).all()


def usual_species(session: Session) -> Species | None:
    """The species with the most open targets of those with lots: what to show before anybody asks."""
    held = select(Lot.species_id).where(Lot.archived_at.is_(None))
    targets = select(Target.species_id, func.count().label("number")).where(Target.archived_at.is_(None))
    counted = targets.group_by(Target.species_id).subquery()
    return session.scalar(
        select(Species)
        .outerjoin(counted, counted.c.species_id == Species.id)
        .where(Species.id.in_(held))
        .order_by(func.coalesce(counted.c.number, 0).desc(), Species.scientific_name)
        .limit(1)
    )


def read_matrix(session: Session, *, species: Species, asked: Asked, today: dt.date) -> Matrix:
    """One page of the verdicts on the lots of a species at the sites; in a fixed number of queries."""
    of_lots, of_sites = _lots_asked(species, asked), _sites_asked(species, asked)
    lots_in_all = session.scalar(select(func.count()).select_from(Lot).where(*of_lots)) or 0
    sites_in_all = session.scalar(select(func.count()).select_from(Site).where(*of_sites)) or 0
    lot_ids = select(Lot.id).where(*of_lots).order_by(Lot.code)
    site_ids = select(Site.id).where(*of_sites).order_by(Site.code)
    lots = read_lots(session, Lot.id.in_(_page(session, lot_ids, asked.lot_page, MOST_LOTS)))
    places = read_sites(session, today, Site.id.in_(_page(session, site_ids, asked.site_page, MOST_SITES)))
    lot, site = all_pairs(len(lots), len(places.table))
    return Matrix(
        species,
        lots.sort_values("lot_code").to_dict("records"),  # type: ignore[arg-type]
        places.table.sort_values("site_code").to_dict("records"),  # type: ignore[arg-type]
        {(cell.lot_id, cell.site_id): cell for cell in cells(session, lots, places, lot, site)},
        lots_in_all,
        sites_in_all,
    )


def reach_of_lot(session: Session, lot_id: int, *, today: dt.date) -> list[Cell]:
    """What the rules say of a lot at every site in use, nearest first; no site in use leaves it empty."""
    lots, places = read_lots(session, Lot.id == lot_id), read_sites(session, today, Site.archived_at.is_(None))
    return sorted(cells(session, lots, places, *all_pairs(len(lots), len(places.table))), key=_by_distance)


def lots_of_site(session: Session, site_id: int, *, today: dt.date, species_id: int | None) -> tuple[
    Mapping[int, Mapping[str, Any]], list[Cell]
]:  # fmt: skip
    """Lots of one species, or of all that the site wants, with the verdict on each, best and nearest first."""
    wanted = select(Target.species_id).where(Target.site_id == site_id, Target.archived_at.is_(None))
    of_species = Lot.species_id.in_(wanted) if species_id is None else Lot.species_id == species_id
    lots = read_lots(session, Lot.archived_at.is_(None), of_species)
    places = read_sites(session, today, Site.id == site_id)
    found = cells(session, lots, places, *all_pairs(len(lots), len(places.table)))
    rows = {int(row["lot_id"]): row for row in lots.to_dict("records")}
    return rows, sorted(found, key=lambda cell: (LEVELS.index(cell.verdict), cell.distance_m, cell.lot_id))  # type: ignore[return-value]


def matrix_rows(session: Session, *, species: Species, asked: Asked, today: dt.date) -> Iterator[list[Any]]:
    """The whole table, one pair a row: lot, site, verdict, source, metres, decision, and the verdict of each rule.

    Raises
    ------
    Invalid
        For more pairs than a file may hold.
    """
    lots = read_lots(session, *_lots_asked(species, asked))
    places = read_sites(session, today, *_sites_asked(species, asked))
    if len(lots) * len(places.table) > MOST_PAIRS:
        raise Invalid(
            {
                "species": _(
                    "%(pairs)s pairs of lot and site are too many for one file; at most %(most)s fit. Narrow the"
                    " lots or the sites above the table.",
                    pairs=format_number(len(lots) * len(places.table)), most=format_number(MOST_PAIRS),
                )
            }
        )  # fmt: skip
    return _rows(session, lots, places)


def _rows(session: Session, lots: pd.DataFrame, places: Places) -> Iterator[list[Any]]:
    lot, site = all_pairs(len(lots), len(places.table))
    judgement = judge_all(lots, places, lot, site)
    decided = decided_pairs(session, lots["lot_id"], places.table["site_id"])
    lot_codes, site_codes = lots["lot_code"].tolist(), places.table["site_code"].tolist()
    lot_ids, site_ids = lots["lot_id"].tolist(), places.table["site_id"].tolist()
    for at, (row, column) in enumerate(zip(lot.tolist(), site.tolist(), strict=True)):
        yield [
            lot_codes[row], site_codes[column], LEVELS[int(judgement.verdict[at])],
            SOURCES[int(judgement.source[at])], float(judgement.distance_m[at]),
            decided.get((lot_ids[row], site_ids[column])),
            *(None if level == NOT_JUDGED else LEVELS[level] for level in judgement.findings[at].tolist()),
        ]  # fmt: skip


def rules_in_order() -> Sequence[str]:
    """Rules in the order of the columns of `matrix_rows`."""
    return [rule.value for rule in RULES]


def all_pairs(lots: int, sites: int) -> tuple[Ints, Ints]:
    """Positions of every lot at every site."""
    return np.divmod(np.arange(lots * sites, dtype=np.int64), max(sites, 1))


def _by_distance(cell: Cell) -> tuple[float, int]:
    return cell.distance_m, cell.site_id


def _lots_asked(species: Species, asked: Asked) -> list[ColumnElement[bool]]:
    found = [Lot.archived_at.is_(None), Lot.species_id == species.id]
    if asked.lot:
        stands = select(Population.id).where(
            or_(
                *(
                    column.icontains(asked.lot, autoescape=True)
                    for column in (Population.code, Population.name, Population.region_code, Population.basin)
                )
            )
        )
        found.append(or_(Lot.code.icontains(asked.lot, autoescape=True), Lot.population_id.in_(stands)))
    return found


def _sites_asked(species: Species, asked: Asked) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = [Site.archived_at.is_(None)]
    if asked.wanted:
        open_targets = select(Target.site_id).where(Target.species_id == species.id, Target.archived_at.is_(None))
        found.append(Site.id.in_(open_targets))
    if asked.site:
        columns = (Site.code, Site.name, Site.region_code, Site.basin)
        found.append(or_(*(column.icontains(asked.site, autoescape=True) for column in columns)))
    return found


def _page(session: Session, ids: Any, page: int, size: int) -> list[int]:
    return list(session.scalars(ids.offset(page * size).limit(size)))
