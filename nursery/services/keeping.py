"""How long seed keeps: its forecast, the day of its next test, the day by which it must be sown, its place."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from nursery.catalog import SpeciesEntry
from nursery.models import Lot
from nursery.models.lots import Material
from nursery.planning.arrays import Floats
from nursery.planning.heavy import pd
from nursery.planning.keeping import RETEST_DAYS, RETEST_SHARE, days_to_share, forecast
from nursery.planning.plan_lots import LEAST_SHARE_ALIVE
from nursery.services.lot_figures import day_of, lot_figures, lot_row

#: Seed that was never tested is tested within this time of its collection, in days; common practice, no source.
FIRST_TEST_DAYS = 60
#: A forecast beyond this many days says nothing.
_HORIZON_DAYS = 36_500


@dataclass(frozen=True, slots=True)
class Course:
    """How a lot's viability falls, from its last test (or from collecting) on."""

    #: The day from which the seed ages, and what it was worth on it.
    tested_on: dt.date
    tested: float
    #: False where the catalogue's germination stands in.
    is_tested: bool
    #: Days per probit of the viability equation; None where only the life in store is known.
    sigma_days: float | None
    life_days: float
    today: float
    #: False for seed that is sown in its own season, and for cuttings.
    can_wait: bool
    #: The day of the next test; None where the seed is sown before a test would tell anything.
    retest_on: dt.date | None
    #: The last day on which a plan draws the lot: half of its tested viability is left.
    last_on: dt.date
    is_past: bool
    #: What killed the seed (`nursery.planning.harm.Harm`); empty where nothing did.
    harm: str

    def on(self, days: Sequence[dt.date]) -> list[float]:
        """Viability on some days; before the test it is not known and is what the test found."""
        elapsed = [(day - self.tested_on).days for day in days]
        sigma = np.nan if self.sigma_days is None else self.sigma_days
        return [float(value) for value in forecast(self.tested, elapsed, sigma, self.life_days)]


def course_of(lot: Lot, entry: SpeciesEntry, today: dt.date) -> Course:
    """The course of one lot, with the same numbers as in a plan."""
    entries = {lot.species_id: entry}
    row = courses(lot_figures(lot_row(lot), entries), entries, today).iloc[0]
    sigma = float(row["sigma_days"])
    return Course(
        tested_on=day_of(row["tested_on"]),
        tested=float(row["germination"]),
        is_tested=bool(row["is_tested"]),
        sigma_days=None if np.isnan(sigma) else sigma,
        life_days=float(row["life_days"]),
        today=float(row["viability"]),
        can_wait=bool(row["can_wait"]),
        retest_on=day_of(row["retest_on"]) if row["can_wait"] else None,
        last_on=day_of(row["last_on"]),
        is_past=bool(row["is_past"]),
        harm=str(row["harm"]),
    )


def courses(figures: pd.DataFrame, entries: Mapping[int, SpeciesEntry], today: dt.date) -> pd.DataFrame:
    """The table of `lot_figures` with ``viability`` (today), ``can_wait, retest_on, last_on, is_past``."""
    storable = {key: entry.storage.storable for key, entry in entries.items()}
    seed = (figures["material"] != Material.CUTTINGS).to_numpy()
    tested = figures["germination"].to_numpy(np.float64)
    sigma, life = figures["sigma_days"].to_numpy(np.float64), figures["life_days"].to_numpy(np.float64)
    tested_on = figures["tested_on"].to_numpy().astype("datetime64[D]")
    now = np.datetime64(today, "D")
    to_retest = np.minimum(days_to_share(tested, RETEST_SHARE, sigma, life), RETEST_DAYS)
    to_retest = np.where(figures["is_tested"], to_retest, np.minimum(to_retest, FIRST_TEST_DAYS))
    last_on = tested_on + _whole_days(days_to_share(tested, LEAST_SHARE_ALIVE, sigma, life))
    return figures.assign(
        viability=forecast(tested, (now - tested_on).astype(np.float64), sigma, life),
        can_wait=seed & figures["species_id"].map(storable).to_numpy(dtype=bool),
        retest_on=(tested_on + _whole_days(to_retest)).astype("datetime64[s]"),
        last_on=last_on.astype("datetime64[s]"),
        is_past=last_on < now,
    )


def _whole_days(days: Floats) -> Any:
    # A hair is added, so that a life of whole days ends on its day.
    return np.floor(np.minimum(days, _HORIZON_DAYS) + 1e-6).astype(np.int64).astype("timedelta64[D]")
