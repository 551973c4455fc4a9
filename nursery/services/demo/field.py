"""What the demo's crews saw in the field, and the bags they kept apart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from random import Random

from nursery.catalog import load_catalog
from nursery.models import Bag, Lot
from nursery.models.bags import Sex
from nursery.models.lots import Ripeness
from nursery.services.demo.tables import number, rows, whole

#: Share of the one large bag; its lot is worth few mothers however many were visited.
_LARGE = 0.4
#: How far mother plants stand from the middle of their population, in degrees.
_APART = 0.003


def write_field(lots: Sequence[Lot]) -> list[Bag]:
    """Field facts onto the newest lot of some populations, and their bags; lots have their ids."""
    return [bag for row in rows("field") for bag in _seen(row, _newest(lots, row["population"]))]


def _newest(lots: Iterable[Lot], population: str) -> Lot:
    own = (lot for lot in lots if lot.population.code == population)
    return max(own, key=lambda lot: (lot.archived_at is None, lot.collected_on, lot.code))


def _seen(row: dict[str, str], lot: Lot) -> Iterator[Bag]:
    lot.plants_present, lot.crop_share = whole(row["present"]), number(row["share"])
    lot.cut_sound, lot.cut_total = whole(row["sound"]), whole(row["cut"])
    lot.ripeness = Ripeness(row["ripeness"]) if row["ripeness"] else None
    lot.habitat = row["habitat"]
    if row["bags"] != "pooled":
        yield from bags_of(lot, row["bags"])


def bags_of(lot: Lot, kind: str) -> Iterator[Bag]:
    """Bags of each mother of a lot: even, one large, or sexed."""
    chance = Random(f"demo bags {lot.code}")  # noqa: S311 -- spread for an example, no secret
    count, total = lot.mother_plants or 1, _collected(lot)
    weights = [max(chance.gauss(1.0, 0.25), 0.3) for _mother in range(count)]
    if kind == "one large" and count > 1:
        weights[4 % count] = (sum(weights) - weights[4 % count]) * _LARGE / (1 - _LARGE)
    for at, weight in enumerate(weights):
        yield Bag(
            lot_id=lot.id,
            tag=f"{at + 1:02d}",
            weight_mg=max(1000, round(total * weight / sum(weights), -3)),
            latitude=round(lot.population.latitude + chance.uniform(-_APART, _APART), 5),
            longitude=round(lot.population.longitude + chance.uniform(-_APART, _APART), 5),
            sex=(Sex.MALE if chance.random() < 0.4 else Sex.FEMALE) if kind == "sexed" else None,
        )


def _collected(lot: Lot) -> int:
    """Milligrams of fruit, or pieces times a thousand, as they came home."""
    if lot.pieces is not None:
        return lot.pieces * 1000
    usual = load_catalog().species[lot.species.key].seed.extraction_yield
    return round((lot.amount_mg or 0) / usual)
