"""What lives of what the demo's crews planted: a year after the last season, three years after an older one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.models import Lot, Planting, Population, Site, SurveyPlot, Trip
from nursery.models.movements import Measure, MovementKind
from nursery.models.types import utc_now
from nursery.services.codes import lot_code
from nursery.services.demo import spread
from nursery.services.demo.lots import USED_UP
from nursery.services.demo.tables import rows, whole
from nursery.services.ledger import open_balances, take_from_lot
from nursery.services.plantings import create_planting
from nursery.services.seasons import season_of
from nursery.services.surveys.checking import Counted
from nursery.services.surveys.writing import record_survey

#: The older winter's planting day, and the site.
_MONTH, _DAY, _SITE = 11, 20, "S-002"
#: Years that it lies back at least, so that a survey of its third year is not too early.
_BACK = 2.6
#: Days from planting to the survey of a year, and the fewest that a survey of the first year can do with.
_AFTER, _FEWEST = 335, 200


def write_surveys(
    session: Session, actor: str, planted: Sequence[Planting], stands: Mapping[str, Population],
    sites: Mapping[str, Site], today: dt.date,
) -> None:  # fmt: skip
    """Plots and surveys: of ``planted``, the plantings of the season that is over, and of an older winter."""
    older = _older(session, actor, stands, sites[_SITE], today)
    plots: dict[tuple[str, str], SurveyPlot] = {}
    for winter, own in (("finished", planted), ("older", older)):
        table = [row for row in rows("surveys") if row["winter"] == winter]
        for site, plot_name, year in dict.fromkeys((row["site"], row["plot"], row["year"]) for row in table):
            here = [one for one in own if one.site_id == sites[site].id and not one.is_replacement]
            counted = [
                row for row in table
                if (row["site"], row["plot"], row["year"]) == (site, plot_name, year)
                and row["species"] in {one.lot.species.scientific_name for one in here}
            ]  # fmt: skip
            day = _surveyed_on(here, int(year), today)
            if not counted or day is None:
                continue
            key = site, plot_name
            plots[key] = plots.get(key) or _plot(session, sites[site], counted[0])
            _survey(session, actor, plots[key], here, counted, day, today)


def _surveyed_on(planted: Sequence[Planting], year: int, today: dt.date) -> dt.date | None:
    """Late in the summer of its year, or lately; None while that is still to come."""
    if not planted:
        return None
    last = max(one.planted_on for one in planted)
    day = min(last + dt.timedelta(days=_AFTER + 365 * (year - 1)), today - dt.timedelta(days=8))
    return day if (day - last).days >= _FEWEST + 365 * (year - 1) - (365 - _FEWEST) * (year > 1) else None


def _plot(session: Session, site: Site, row: Mapping[str, str]) -> SurveyPlot:
    chance = spread.chance_of(f"{row['site']} {row['plot']}")
    plot = SurveyPlot(
        site=site, name=row["plot"], area_m2=float(row["area_m2"]),
        latitude=round(site.latitude + chance.uniform(-0.002, 0.002), 5),
        longitude=round(site.longitude + chance.uniform(-0.002, 0.002), 5),
        notes="Four posts with yellow heads, chosen by lot (example)",
    )  # fmt: skip
    session.add(plot)
    session.flush()
    return plot


def _survey(
    session: Session, actor: str, plot: SurveyPlot, planted: Sequence[Planting],
    table: Sequence[Mapping[str, str]], day: dt.date, today: dt.date,
) -> None:  # fmt: skip
    species = {one.lot.species.scientific_name: one.lot.species_id for one in planted}
    values = {
        "season": season_of(planted[0].planted_on), "year": int(table[0]["year"]), "surveyed_on": day,
        "person": "Noa Brandal", "notes": "Dry summer, deer about (example)" if table[0]["year"] == "1" else "",
    }  # fmt: skip
    counts = [
        Counted(
            species[row["species"]], int(row["planted"]), int(row["alive"]), _causes(row["causes"]),
            int(row["replacements"]), at,
        )
        for at, row in enumerate(table)
    ]  # fmt: skip
    record_survey(session, actor, plot=plot, values=values, counts=counts, today=today)


def _causes(text: str) -> dict[str, int]:
    return {cause: int(plants) for cause, plants in (part.split(":") for part in text.split())}


def _older(
    session: Session, actor: str, stands: Mapping[str, Population], site: Site, today: dt.date
) -> list[Planting]:
    """Plantings of a winter three years back, each from a lot of its own that was used up for it."""
    day = dt.date(today.year - 3, _MONTH, _DAY)
    if (today - day).days < _BACK * 365:
        day = day.replace(year=day.year - 1)
    found = []
    for number, row in enumerate(rows("older_plantings"), start=1):
        lot = _old_lot(session, actor, row, stands[row["population"]], day.year - 2, number, today)
        plants = int(row["plants"])
        values = {
            "site_id": site.id, "lot_id": lot.id, "planted_on": day, "plants": plants, "people": row["people"],
            "volunteers": int(row["volunteers"]), "hours": round(plants / 13, 1),
            "area_m2": plants * float(row["m2_per_plant"]), "notes": "The first winter of the project (example)",
        }  # fmt: skip
        found.append(create_planting(session, actor, values=values, today=today))
        if again := whole(row["replacements"]):
            later = values | {
                "planted_on": day + dt.timedelta(days=372), "plants": again, "is_replacement": True, "hours": 2.0,
                "area_m2": None, "notes": "In place of those that deer took (example)",
            }  # fmt: skip
            create_planting(session, actor, values=later, today=today)
    return found


def _old_lot(
    session: Session, actor: str, row: Mapping[str, str], population: Population, year: int, number: int,
    today: dt.date,
) -> Lot:  # fmt: skip
    """A lot of which nothing is left: it was sown in the spring after its collecting."""
    entry = load_catalog().species[population.species.key]
    chance = spread.chance_of(f"older {row['population']}")
    month, day_of_month = (int(part) for part in row["day"].split("-"))
    collected = dt.date(year, month, day_of_month)
    trip = Trip(
        code=f"T-{year}-{number:02d}", collected_on=collected, people=row["people"].partition(",")[0], hours=5.0,
        km=24.0, weather="dry",
    )  # fmt: skip
    region = population.region_code.partition("-")[0]
    lot = Lot(
        code=lot_code(population.species.scientific_name, year, 1), species=population.species,
        population=population, trip=trip, collected_on=collected, ripening_year=year,
        mother_plants=int(row["mothers"]),
        amount_mg=round(float(row["fruit_kg"]) * 1e6 * entry.seed.extraction_yield, -3),
        purity=spread.purity(entry, chance), tsw_g=spread.thousand_seed_weight(entry, chance),
        permit_number=f"COL {region} {year}/07",
    )  # fmt: skip
    lot.amount_mg = int(lot.amount_mg or 0)
    session.add(lot)
    session.flush()
    open_balances(session, actor, [lot])
    take_from_lot(
        session, actor, lot=lot, kind=MovementKind.WITHDRAWN, measure=Measure.SEED, amount=lot.amount_mg,
        reason="Sown", happened_on=collected + dt.timedelta(days=150), today=today,
    )  # fmt: skip
    lot.archived_at, lot.notes = utc_now(), USED_UP
    session.flush()
    return lot
