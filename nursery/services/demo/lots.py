"""The demo's collection trips and the lots they brought home."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from nursery.catalog import SpeciesEntry, load_catalog
from nursery.models import Lot, Population, StoragePlace, Trip
from nursery.models.lots import Material
from nursery.models.types import utc_now
from nursery.services.codes import lot_code, lot_code_stem
from nursery.services.demo import spread
from nursery.services.demo.dating import collected_on, ripening_year
from nursery.services.demo.tables import rows

#: What is noted of a lot that is put aside.
USED_UP = "Used up or past its life; kept for the record."
#: Columns of the lots table, newest year first.
AGES = ("newest", "previous", "older")
#: Days from collecting to the germination test; common practice, no source.
_TEST_AFTER = 45
#: From a round to its second outing.
_SECOND = dt.timedelta(days=2)
#: Seed or cuttings older than this many lives have been used up and put aside.
_LIVES_KEPT = 2.5


@dataclass(frozen=True)
class _Take:
    """One cell of the lots table: what one population gave on one trip."""

    trip: Trip
    population: Population
    entry: SpeciesEntry
    mothers: int
    amount: float
    number: str

    @property
    def part(self) -> str:
        """Cuttings or seed, by the time of year at which they were taken."""
        month = self.trip.collected_on.month
        return "seed" if month in self.entry.collecting.seed_months else "cuttings"


@dataclass(frozen=True)
class Brought:
    """What the trips brought home: lots still in store, and by crop the lots that it was sown from."""

    trips: list[Trip]
    lots: list[Lot]
    crop_trips: list[Trip]
    crop_lots: dict[str, list[Lot]]


def trips_and_lots(
    today: dt.date,
    populations: dict[str, Population],
    storage: dict[str, tuple[StoragePlace, list[float] | None]],
    *,
    crops: Mapping[str, dt.date],
) -> Brought:
    """Three years of trips, each with its lots; the year's rounds come back to the same stands.

    ``crops`` gives the day on which each crop was planned. Its lots, of the table ``<crop>_lots``, come from a
    second outing, two days after each round's last trip before that day, and are as they were on it.
    """
    entries = load_catalog().species
    trips = {
        (row["round"], age): _trip(row, collected_on(row["day"], today, age))
        for row in rows("rounds")
        for age in range(len(AGES))
    }
    takes = [
        _take(trips[row["round"], age], row, row[column], column, populations, entries)
        for row in rows("lots")
        for age, column in enumerate(AGES)
        if row[column]
    ]
    for_crops = {crop: _takes_of(crop, day, populations, entries) for crop, day in crops.items()}
    again = [take for some in for_crops.values() for take in some]
    for some in (takes, *for_crops.values()):
        some.sort(key=lambda take: take.trip.collected_on)
    made, outings = (list(dict.fromkeys(take.trip for take in some)) for some in (takes, again))
    _number_trips(made + outings)
    lots = [_lot(take, today, storage) for take in takes]
    sown = {crop: [_lot(take, crops[crop], storage) for take in some] for crop, some in for_crops.items()}
    _number_lots([*lots, *(lot for some in sown.values() for lot in some)])
    return Brought(made, lots, outings, sown)


def _takes_of(
    crop: str, planned_on: dt.date, populations: dict[str, Population],
    entries: Mapping[str, SpeciesEntry],
) -> list[_Take]:  # fmt: skip
    second = {
        row["round"]: _trip(row, collected_on(row["day"], planned_on, 0) + _SECOND) for row in rows("rounds")
    }
    return [
        _take(second[row["round"]], row, row["amount"], crop, populations, entries) for row in rows(f"{crop}_lots")
    ]


def _take(
    trip: Trip, row: dict[str, str], amount: str, column: str, populations: dict[str, Population],
    entries: Mapping[str, SpeciesEntry],
) -> _Take:  # fmt: skip
    population = populations[row["population"]]
    return _Take(
        trip, population, entries[population.species.key], int(row["mothers"]), float(amount),
        f"{row['round']} {row['population']} {column}",
    )  # fmt: skip


def _trip(row: dict[str, str], day: dt.date) -> Trip:
    return Trip(
        collected_on=day,
        people=row["people"],
        weather=row["weather"],
        hours=float(row["hours"]),
        km=float(row["km"]),
    )


def _number_trips(trips: list[Trip]) -> None:
    so_far: Counter[int] = Counter()
    for trip in trips:
        so_far[trip.collected_on.year] += 1
        trip.code = f"T-{trip.collected_on.year}-{so_far[trip.collected_on.year]:02d}"


def _number_lots(lots: list[Lot]) -> None:
    so_far: Counter[str] = Counter()
    for lot in lots:
        name = lot.species.scientific_name
        stem = lot_code_stem(name, lot.ripening_year)
        so_far[stem] += 1
        lot.code = lot_code(name, lot.ripening_year, so_far[stem])


def _lot(take: _Take, today: dt.date, storage: dict[str, tuple[StoragePlace, list[float] | None]]) -> Lot:
    entry, trip, seed = take.entry, take.trip, take.part == "seed"
    place, moisture = storage[entry.storage.behaviour if seed else "cuttings"]
    months = entry.collecting_months(take.part)
    lot = Lot(
        material=Material(take.part),
        species=take.population.species,
        population=take.population,
        trip=trip,
        collected_on=trip.collected_on,
        ripening_year=ripening_year(trip.collected_on, months),
        mother_plants=take.mothers,
        storage_place=place,
        permit_number=_permit(take),
        **(_seed_values(take, today, moisture) if seed else {"pieces": int(take.amount)}),
    )
    age_days = (today - trip.collected_on).days
    if age_days > _LIVES_KEPT * entry.life_days(take.part):
        lot.archived_at = utc_now()
        lot.notes = USED_UP
    return lot


def _seed_values(take: _Take, today: dt.date, moisture: list[float] | None) -> dict[str, Any]:
    entry, chance = take.entry, spread.chance_of(take.number)
    clean_g = take.amount * 1000 * entry.seed.extraction_yield
    tested_on = take.trip.collected_on + dt.timedelta(days=_TEST_AFTER)
    seed_protocols = [protocol for protocol in entry.protocols if protocol.part == "seed"]
    values: dict[str, Any] = {
        "amount_mg": round(clean_g, 1 if clean_g < 1000 else 0) * 1000,
        "purity": spread.purity(entry, chance),
        "tsw_g": spread.thousand_seed_weight(entry, chance),
        "moisture_pct": spread.moisture(moisture, chance) if moisture else None,
    }
    values["amount_mg"] = int(values["amount_mg"])
    if tested_on <= today and seed_protocols:
        values["germination"] = spread.germination(seed_protocols[0].rates["germination"], chance)
        values["tested_on"] = tested_on
    return values


def _permit(take: _Take) -> str:
    """Number of the collecting permit, in the invented authority's own way of numbering."""
    region = take.population.region_code.partition("-")[0]
    return f"COL {region} {take.trip.collected_on.year}/{7 if take.part == 'seed' else 8:02d}"
