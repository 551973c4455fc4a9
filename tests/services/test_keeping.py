"""How long lots keep: the same numbers as in the plan, the next test, the last day, and the wrong place."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry, load_catalog
from nursery.models import Lot
from nursery.models.lots import Material
from nursery.planning.plan_lots import LEAST_SHARE_ALIVE, lot_viability
from nursery.services.keeping import course_of
from nursery.services.lot_figures import lot_figures, lot_row
from nursery.services.lot_quality import quality_of
from nursery.services.planning.gather import gather
from nursery.services.storage_warnings import misplaced

TESTED = dt.date(2026, 3, 1)
#: Constants of the viability equation of barley: from memory, regression values only.
BARLEY: dict[str, Any] = {"ke": 9.983, "cw": 5.896, "ch": 0.040, "cq": 0.000428}


def entry(key: str = "arbutus-unedo", **storage: Any) -> SpeciesEntry:
    found: SpeciesEntry = load_catalog().species[key]
    return replace(found, storage=replace(found.storage, **storage))


def lot_of(maker: Any, key: str = "arbutus-unedo", **values: Any) -> Lot:
    population = maker.population(species=maker.species(key))
    defaults = {"collected_on": dt.date(2026, 1, 10), "germination": 0.9, "tested_on": TESTED}
    made: Lot = maker.lot(population=population, **{**defaults, **values})
    return made


def test_the_lot_page_and_the_plan_tell_one_number(session: Session, maker: Any, today: dt.date) -> None:
    lot = lot_of(maker, storage_place_id=maker.place(temperature_c=4.0).id, moisture_pct=8.0)
    maker.target(species=lot.species)
    session.flush()
    found = entry()
    lots = gather(session, today=today, learned=False).inputs.lots

    on_page = course_of(lot, found, today)
    now, life = np.array([np.datetime64(today)]), np.array([found.life_days("seed")])
    in_plan = lot_viability(lots, np.array([0]), now, life)
    quality = quality_of(lot, found, today)

    assert on_page.today == in_plan[0]
    assert quality is not None
    assert quality.germination_today == in_plan[0]
    assert quality.viable_seeds == lots["seeds"].iloc[0] * in_plan[0]


def test_the_plan_draws_a_lot_to_its_last_day_and_no_longer(maker: Any, today: dt.date) -> None:
    lot = lot_of(maker)
    course = course_of(lot, entry(), today)

    left = course.on([course.last_on, course.last_on + dt.timedelta(1)])

    assert left[0] >= LEAST_SHARE_ALIVE * 0.9 - 1e-9
    assert left[1] < LEAST_SHARE_ALIVE * 0.9


def test_known_constants_make_the_equation_speak(maker: Any, today: dt.date) -> None:
    lot = lot_of(maker, storage_place_id=maker.place(temperature_c=20.0).id, moisture_pct=10.0)

    course = course_of(lot, entry(**BARLEY), today)

    # σ at 10 % and 20 °C is 3.57 years: computed from the remembered constants, check-values §4.
    assert course.sigma_days == pytest.approx(3.57 * 365.25, rel=0.01)
    days = (today - TESTED).days
    assert course.today == pytest.approx(norm.cdf(norm.ppf(0.9) - days / (course.sigma_days or 1)))


@pytest.mark.parametrize("lacking", ["moisture_pct", "storage_place_id"])
def test_without_moisture_or_temperature_the_life_speaks(maker: Any, today: dt.date, lacking: str) -> None:
    known = {"moisture_pct": 10.0, "storage_place_id": maker.place(temperature_c=20.0).id}
    lot = lot_of(maker, **{**known, lacking: None})

    course = course_of(lot, entry(**BARLEY), today)

    assert (course.sigma_days, course.life_days) == (None, entry().life_days("seed"))


def test_a_lot_is_tested_again_within_a_year_and_sooner_if_it_falls_fast(maker: Any, today: dt.date) -> None:
    lot = lot_of(maker)
    slow = course_of(lot, entry(seed_life_days=20_000), today)
    fast = course_of(lot, entry(seed_life_days=400), today)

    assert slow.retest_on == dt.date(2027, 3, 1)
    assert fast.retest_on is not None
    assert TESTED < fast.retest_on < dt.date(2027, 3, 1)
    before, after = fast.on([fast.retest_on, fast.retest_on + dt.timedelta(1)])
    assert before >= 0.8 * 0.9 > after


def test_untested_seed_is_to_be_tested_within_two_months(maker: Any, today: dt.date) -> None:
    lot = lot_of(maker, germination=None, tested_on=None)

    course = course_of(lot, entry(), today)

    assert (course.is_tested, course.retest_on) == (False, dt.date(2026, 3, 11))


def test_acorns_have_a_day_to_be_sown_by_and_no_retest(maker: Any, today: dt.date) -> None:
    lot = lot_of(maker, "quercus-suber", collected_on=dt.date(2026, 10, 20), tested_on=dt.date(2026, 11, 1))

    course = course_of(lot, entry("quercus-suber"), today)

    # Half of the viability is gone 150 days after the test, by the catalogue's working figure.
    assert (course.can_wait, course.retest_on, course.last_on) == (False, None, dt.date(2027, 3, 31))
    assert course.is_past is False


def test_cuttings_age_by_a_life_of_their_own(maker: Any, today: dt.date) -> None:
    key = next(k for k, e in load_catalog().species.items() if e.storage.cuttings_life_days)
    lot = lot_of(maker, key, pieces=100, material=Material.CUTTINGS, germination=None, tested_on=None)

    course = course_of(lot, entry(key), today)

    assert (course.can_wait, course.life_days) == (False, entry(key).storage.cuttings_life_days)


def test_counted_seed_is_pure_and_weighed_seed_is_counted_by_weight(maker: Any) -> None:
    counted = lot_of(maker, pieces=340, purity=0.5)
    weighed = lot_of(maker, amount_mg=500_000, purity=0.9, tsw_g=2.5)

    rows = [lot_figures(lot_row(lot), {lot.species_id: entry()}).iloc[0] for lot in (counted, weighed)]

    assert [(row["seeds"], row["purity"]) for row in rows] == [(340, 1.0), (180_000, 0.9)]


KEPT = {"temperature_c": 4.0, "humidity_pct": None, "moisture_pct": None, "kept_days": 30}


@pytest.mark.parametrize(
    ("behaviour", "changes", "found"),
    [
        ("recalcitrant", {}, []),
        ("recalcitrant", {"temperature_c": -1.0}, []),
        ("recalcitrant", {"temperature_c": -18.0}, [("stop", "It freezes here")]),
        # Cork oak acorns: critical at 30 % of fresh weight (Merouani and others 2001, abstract).
        ("recalcitrant", {"moisture_pct": 30.0}, []),
        ("recalcitrant", {"moisture_pct": 29.9}, [("stop", "It is too dry")]),
        ("recalcitrant", {"humidity_pct": 40.0}, [("caution", "The air is dry")]),
        ("orthodox", {"temperature_c": -18.0}, []),
        ("orthodox", {"temperature_c": 20.0}, []),
        ("orthodox", {"temperature_c": 20.0, "kept_days": 366}, [("caution", "It is too warm for years")]),
        # 10 to 25 % humidity: academy of the Center for Plant Conservation.
        ("orthodox", {"humidity_pct": 10.0}, []),
        ("orthodox", {"humidity_pct": 25.0}, []),
        ("orthodox", {"humidity_pct": 26.0}, [("caution", "The air is moist")]),
        ("orthodox", {"humidity_pct": 9.0}, [("caution", "The air is very dry")]),
        ("intermediate", {}, []),
        ("intermediate", {"temperature_c": -18.0}, [("caution", "It freezes here")]),
    ],
)
def test_a_place_may_contradict_the_class(
    behaviour: str, changes: dict[str, Any], found: list[tuple[str, str]]
) -> None:
    warnings = misplaced(behaviour, **{**KEPT, **changes})

    assert [(warning.tone, warning.title) for warning in warnings] == found
    assert all(warning.text and warning.source for warning in warnings)
