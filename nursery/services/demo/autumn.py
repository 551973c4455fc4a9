"""The demo's autumn sowings for the coming season; one of them has hardly come up."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.models import Batch, Container, Lot, Nursery, Site, Species, Target
from nursery.planning.words import Method
from nursery.services.batches.sowing import sow
from nursery.services.demo.dating import finished_day
from nursery.services.demo.tables import rows

#: How far back they were sown.
_AGO = dt.timedelta(days=50)
#: Flats for seed that will be pricked out.
_FLATS = 2


def write_autumn(session: Session, actor: str, lots: Sequence[Lot], today: dt.date) -> list[Batch]:
    """Sow a share of the newest lot of each population, where the day fell into the protocol's months."""
    sown_on, made = today - _AGO, []
    for row in rows("autumn_sowings"):
        lot = _newest(lots, row["population"], sown_on)
        target = session.scalar(
            select(Target).join(Target.site).join(Target.species)
            .where(
                Site.code == row["site"], Species.scientific_name == row["species"],
                Target.season > finished_day(today).year,
            )
            .order_by(Target.season)
        )  # fmt: skip
        if lot is None or target is None:
            continue
        protocol = load_catalog().species[lot.species.key].default_protocol
        if sown_on.month not in protocol.sowing_months:
            continue
        container = _container(session, protocol.container_volume_cm3)
        in_flats = Method(protocol.method) is Method.PRICKED_OUT
        cells, per_cell = int(row["trays"]) * container.cells_per_tray, int(row["seeds_per_cell"])
        batch = sow(
            session, actor, lot=lot, seeds=cells * per_cell, trays=_FLATS if in_flats else int(row["trays"]),
            container_id=None if in_flats else container.id, method=Method(protocol.method), protocol=protocol.key,
            sown_on=sown_on, today=today, target_id=target.id, seeds_per_cell=None if in_flats else per_cell,
            nursery_id=container.nursery_id,
        )  # fmt: skip
        made.append(batch)
    return made


def _newest(lots: Sequence[Lot], population: str, day: dt.date) -> Lot | None:
    usable = (lot for lot in lots if lot.population.code == population and not lot.is_held and not lot.archived_at)
    return max((lot for lot in usable if lot.collected_on < day), key=lambda lot: lot.collected_on, default=None)


def _container(session: Session, volume_cm3: float) -> Container:
    """The home nursery's smallest container that is large enough."""
    home = select(Nursery.id).order_by(Nursery.id).limit(1).scalar_subquery()
    query = select(Container).where(Container.nursery_id == home, Container.cell_volume_cm3 >= volume_cm3)
    return session.scalars(query.order_by(Container.cell_volume_cm3).limit(1)).one()
