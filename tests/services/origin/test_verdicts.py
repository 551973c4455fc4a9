"""Verdicts on records: what is gathered, one pair, many pairs, and what people decided."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager

import numpy as np
import pandas as pd
import pytest
from sqlalchemy import Engine, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.models import Bag, Change, Climate, Decision, Lot, Population, Site, Zone
from nursery.models.climates import Period
from nursery.models.decisions import DecisionKind
from nursery.models.places import IndigenousStatus
from nursery.models.zones import ZoneKind
from nursery.services.ledger import mix_lots
from nursery.services.mothers import lot_worth
from nursery.services.origin.decisions import decide, list_decisions, standing, withdraw
from nursery.services.origin.gathering import read_lots, read_populations, read_sites
from nursery.services.origin.rule_sets import ensure_default
from nursery.services.origin.strategies import set_strategy
from nursery.services.origin.verdicts import cells, judge_pair
from tests.conftest import Maker

ANA = "Ana Seabra"
HERE = {"region_code": "AV-1", "basin": "Alva", "elevation_m": 400.0}


def bags(session: Session, lot: Lot, *weights: int) -> Lot:
    session.add_all(Bag(lot_id=lot.id, tag=f"M{n}", weight_mg=mg) for n, mg in enumerate(weights, start=1))
    session.flush()
    return lot


def test_lots_bring_population_mothers_and_climate(session: Session, maker: Maker) -> None:
    stand = maker.population(**HERE, indigenous_status=IndigenousStatus.AUTOCHTHONOUS)
    lot = bags(session, maker.lot(population=stand, mother_plants=4), 100, 100, 200)
    pooled = maker.lot(population=stand, mother_plants=20)
    session.add(Climate(population_id=stand.id, mean_annual_c=14.5, annual_rain_mm=620.0))
    session.flush()

    found = read_lots(session, Lot.id.in_([lot.id, pooled.id]))

    columns = [
        "lot_code", "status", "category", "is_held", "most_mothers", "effective_mothers", "largest_family",
        "mean_annual_c",
    ]  # fmt: skip
    expected = pd.DataFrame(
        [
            (lot.code, "autochthonous", "source-identified", False, 4, 1 / (0.25**2 * 2 + 0.5**2), 0.5, 14.5),
            (pooled.code, "autochthonous", "source-identified", False, 20, np.nan, np.nan, 14.5),
        ],
        columns=columns,
    )
    pd.testing.assert_frame_equal(found[columns], expected, check_dtype=False)
    stands = read_populations(session, Population.id == stand.id)
    assert stands[["elevation_m", "mean_annual_c", "is_held"]].to_numpy().tolist() == [[400.0, 14.5, False]]


def test_a_mixed_lot_has_the_mothers_that_its_own_page_tells(
    session: Session, maker: Maker, today: dt.date
) -> None:
    stand = maker.population(**HERE)
    first = bags(session, maker.lot(population=stand), *[100] * 20)
    second = bags(session, maker.lot(population=stand), *[50] * 30)
    mixed = mix_lots(session, ANA, amounts=[(first, 100_000), (second, 300_000)], happened_on=today, today=today)

    found = read_lots(session, Lot.id == mixed.id).iloc[0]

    worth = lot_worth(session, mixed)
    assert worth.balance is not None
    assert found["effective_mothers"] == pytest.approx(worth.effective)
    assert found["largest_family"] == pytest.approx(float(worth.balance.largest_share))


def test_a_pair_tells_verdict_reasons_version_and_distance(session: Session, maker: Maker, today: dt.date) -> None:
    general = ensure_default(session, ANA)
    lot = bags(session, maker.lot(population=maker.population(**HERE)), *[100] * 40)
    site = maker.site(**{**HERE, "elevation_m": 750.0}, latitude=40.2, longitude=-7.5)

    found = judge_pair(session, lot_id=lot.id, site_id=site.id, today=today)

    assert (found.verdict, found.source, round(found.distance_m)) == ("stop", "local", 11_104)
    assert found.followed.version_id == general.versions[0].id
    worst = found.reasons[0]
    assert (worst["rule"], worst["found"], worst["limit"]) == ("elevation", 350.0, 300.0)
    with pytest.raises(NotFound):
        judge_pair(session, lot_id=lot.id, site_id=99, today=today)


def test_expected_climate_and_strategy_of_a_site_count(session: Session, maker: Maker, today: dt.date) -> None:
    stand = maker.population(region_code="ZB-1", basin="Zurba", elevation_m=400.0)
    lot = bags(session, maker.lot(population=stand), *[100] * 40)
    site = maker.site(**HERE)
    set_strategy(session, ANA, site=site, values={"kind": "climate"})
    session.add_all(
        [
            Climate(population_id=stand.id, mean_annual_c=16.5),
            Climate(site_id=site.id, mean_annual_c=15.0),
            Climate(site_id=site.id, period=Period.EXPECTED, mean_annual_c=17.0),
        ]
    )
    session.flush()

    found = judge_pair(session, lot_id=lot.id, site_id=site.id, today=today)

    assert (found.verdict, found.source) == ("caution", "climate")
    assert [one["note"] for one in found.reasons if one["rule"] == "region"] == ["accepted"]


def test_official_regions_of_one_species_decide_about_that_species_alone(
    session: Session, maker: Maker, today: dt.date
) -> None:
    oak, ash = maker.species("quercus-suber"), maker.species("fraxinus-angustifolia")
    site = maker.site(**HERE, latitude=40.2, longitude=-7.4)
    ring = [[-8.0, 40.0], [-7.0, 40.0], [-7.0, 41.0], [-8.0, 41.0], [-8.0, 40.0]]
    session.add(
        Zone(
            kind=ZoneKind.REGION, code="OAK-3", species_id=oak.id,
            geometry={"type": "Polygon", "coordinates": [ring]},
        )
    )  # fmt: skip
    session.flush()
    lots = [
        maker.lot(population=maker.population(species=species, **{**HERE, "region_code": code}))
        for species, code in ((oak, "AV-1"), (oak, "OAK-3"), (ash, "AV-1"))
    ]

    found = [judge_pair(session, lot_id=lot.id, site_id=site.id, today=today) for lot in lots]

    assert [one.verdict for one in found] == ["stop", "caution", "caution"]
    assert [(one["found"], one["limit"]) for one in found[0].reasons if one["rule"] == "region"] == [
        ("AV-1", "OAK-3")
    ]
    assert [(one.site_region, one.is_own_region) for one in found] == [
        ("OAK-3", True), ("OAK-3", True), ("AV-1", False),
    ]  # fmt: skip


def test_a_matrix_costs_the_same_queries_whatever_its_size(
    session: Session, maker: Maker, today: dt.date, engine: Engine,
    count_queries: Callable[[Engine], AbstractContextManager[list[str]]],
) -> None:  # fmt: skip
    stand = maker.population(**HERE)
    for number in range(5):
        bags(session, maker.lot(population=stand), *[100] * 40)
        maker.site(**{**HERE, "elevation_m": 400.0 + 100 * number})

    with count_queries(engine) as statements:
        lots, places = read_lots(session, Lot.archived_at.is_(None)), read_sites(session, today)
        lot, site = np.divmod(np.arange(25), 5)
        found = cells(session, lots, places, lot, site)

    assert len(statements) == 10
    assert [cell.verdict for cell in found[:5]] == ["pass", "pass", "caution", "caution", "stop"]
    assert [cell.rules for cell in found[:5]] == [(), (), ("elevation",), ("elevation",), ("elevation",)]


@pytest.fixture
def pair(session: Session, maker: Maker) -> tuple[Lot, Site]:
    """A lot that the rules stop at a site, for its elevation."""
    lot = bags(session, maker.lot(population=maker.population(**HERE)), *[100] * 40)
    return lot, maker.site(**{**HERE, "elevation_m": 900.0})


def test_an_override_lets_a_stopped_lot_in_and_stays_on_record_when_withdrawn(
    session: Session, pair: tuple[Lot, Site], today: dt.date
) -> None:
    lot, site = pair
    made = decide(
        session, ANA, kind=DecisionKind.OVERRIDE, lot=lot, site=site, reason="Last seed of the valley", today=today
    )
    lots, places = read_lots(session, Lot.id == lot.id), read_sites(session, today, Site.id == site.id)
    first = np.zeros(1, np.int64)

    allowed = cells(session, lots, places, first, first)[0]
    assert (allowed.verdict, allowed.decision, allowed.allowed) == ("stop", "override", True)
    withdraw(session, ANA, decision_id=made.id, reason="Other seed was found")
    assert cells(session, lots, places, first, first)[0].allowed is False
    assert [
        (one.reason, one.withdrawal, one.withdrawn_by)
        for one in list_decisions(session, lot_id=lot.id, site_id=site.id)
    ] == [("Last seed of the valley", "Other seed was found", ANA)]
    assert standing(session, lot_id=lot.id) == []
    notes = session.scalars(select(Change).where(Change.subject == "decisions").order_by(Change.id)).all()
    assert [note.action for note in notes] == ["decided", "withdrawn"]
    with pytest.raises(Conflict, match="withdrawn already"):
        withdraw(session, ANA, decision_id=made.id, reason="Again")


def refused(session: Session, **terms: object) -> dict[str, str]:
    with pytest.raises(Invalid) as caught:
        decide(session, ANA, **terms)  # type: ignore[arg-type]
    return dict(caught.value.errors)


def test_what_contradicts_rules_or_decisions_is_refused(
    session: Session, maker: Maker, pair: tuple[Lot, Site], today: dt.date
) -> None:
    lot, site = pair
    about = {"lot": lot, "site": site, "today": today}
    target = maker.target(site=site, species=lot.species)
    pin = {**about, "kind": DecisionKind.PIN, "reason": "Promised to the school"}

    assert refused(session, **about, kind=DecisionKind.FORBID, reason=" ") == {
        "reason": "A decision needs a reason: every report shows it. Write why."
    }
    assert refused(session, **pin) == {"target_id": "A pin is of one open target of this site. Choose it."}
    assert refused(session, **pin, target=target) == {
        "kind": "The rules stop this lot here. Allow it despite the stop first, with a reason; then pin it."
    }
    other = maker.target(site=site, species=maker.species("quercus-rotundifolia"))
    assert list(refused(session, **pin, target=other)) == ["target_id"]
    decide(session, ANA, kind=DecisionKind.OVERRIDE, **about, reason="Last seed")  # type: ignore[arg-type]
    decide(session, ANA, **pin, target=target, plants=40)  # type: ignore[arg-type]
    assert refused(session, **pin, target=target) == {
        "kind": "This is decided already. Withdraw that decision first to write another reason."
    }
    assert refused(session, **about, kind=DecisionKind.FORBID, reason="Sick") == {
        "kind": "The lot is pinned or allowed here. Withdraw that decision before forbidding it."
    }
    assert [(one.kind, one.plants) for one in session.scalars(select(Decision).order_by(Decision.id))] == [
        ("override", None),
        ("pin", 40),
    ]


def test_only_a_stop_is_overridden_and_a_hold_has_its_own_release(
    session: Session, maker: Maker, pair: tuple[Lot, Site], today: dt.date
) -> None:
    lot, far = pair
    near = maker.site(**HERE)
    override = {"kind": DecisionKind.OVERRIDE, "lot": lot, "today": today, "reason": "Last seed"}

    assert refused(session, **override, site=near) == {
        "kind": "The rules do not stop this lot here, so there is nothing to override."
    }
    lot.is_held = True
    session.flush()
    assert refused(session, **override, site=far) == {
        "kind": "Collecting permit cannot be overridden here. A lot on hold is released on its own page."
    }


@pytest.mark.parametrize("kind", [DecisionKind.FORBID, DecisionKind.OVERRIDE])
def test_the_database_lets_one_decision_of_a_kind_stand_on_a_lot_and_a_site(
    session: Session, pair: tuple[Lot, Site], kind: DecisionKind
) -> None:
    lot, site = pair
    about = {"kind": kind, "lot_id": lot.id, "site_id": site.id, "person": ANA}
    first = Decision(**about, reason="Sick plants")
    session.add(first)
    session.flush()

    with pytest.raises(IntegrityError), session.begin_nested():
        session.add(Decision(**about, reason="Sick all the same"))
    first.withdrawn_at = dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
    session.add(Decision(**about, reason="Sick again"))
    session.flush()

    assert [row.reason for row in standing(session, lot_id=lot.id)] == ["Sick again"]


def test_a_forbidden_lot_is_neither_pinned_nor_allowed(
    session: Session, maker: Maker, pair: tuple[Lot, Site], today: dt.date
) -> None:
    lot, site = pair
    about = {"lot": lot, "site": site, "today": today, "reason": "Sick plants"}
    decide(session, ANA, kind=DecisionKind.FORBID, **about)  # type: ignore[arg-type]

    told = {"kind": "The lot is forbidden here. Withdraw that decision first."}
    assert refused(session, **about, kind=DecisionKind.OVERRIDE) == told
    site.archived_at = dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
    assert refused(session, **about, kind=DecisionKind.OVERRIDE) == {
        "kind": f"{site.code} is archived. Bring it back before deciding about it."
    }
