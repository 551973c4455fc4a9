"""A site's strategy: usual terms, own terms, and what cannot be fulfilled is refused."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Change, Strategy
from nursery.planning.origin.strategies import PRESETS
from nursery.planning.origin.words import StrategyKind
from nursery.services.origin.gathering import terms_of
from nursery.services.origin.strategies import drop_strategy, find_strategy, set_strategy
from tests.conftest import Maker

ANA = "Ana Seabra"


@pytest.mark.parametrize("kind", list(StrategyKind))
def test_a_kind_alone_brings_its_usual_terms(session: Session, maker: Maker, kind: StrategyKind) -> None:
    row = set_strategy(session, ANA, site=maker.site(), values={"kind": kind})

    assert terms_of(row) == PRESETS[kind]


def test_a_change_keeps_one_strategy_and_tells_what_it_was(session: Session, maker: Maker) -> None:
    site = maker.site()
    set_strategy(session, ANA, site=site, values={"kind": "composite"})
    set_strategy(
        session, ANA, site=site, values={"kind": "composite", "shares": {"local": 0.7, "near": 0.3, "far": 0.0}}
    )

    found = session.scalars(select(Strategy)).one()
    assert found.shares == {"local": 0.7, "near": 0.3}
    change = session.scalars(select(Change).where(Change.action == "changed")).one()
    assert change.details == {"shares": [{"local": 0.6, "near": 0.3, "far": 0.1}, {"local": 0.7, "near": 0.3}]}


def test_without_a_strategy_again_a_new_one_may_follow(session: Session, maker: Maker) -> None:
    site = maker.site()
    set_strategy(session, ANA, site=site, values={"kind": "strict"})
    drop_strategy(session, ANA, site=site)
    drop_strategy(session, ANA, site=site)

    assert find_strategy(session, site.id) is None
    assert set_strategy(session, ANA, site=site, values={"kind": "climate"}).archived_at is None


@pytest.mark.parametrize(
    ("values", "field", "message"),
    [
        (
            {"kind": "composite", "shares": {"local": 0.6, "near": 0.3}},
            "shares",
            "The 2 shares sum to 90 %, not to 100 %. Raise or lower them by 10 %.",
        ),
        (
            {"kind": "composite", "shares": {}},
            "shares",
            "“Composite” needs shares that sum to 100 %, of: local, near, far.",
        ),
        (
            {"kind": "composite", "shares": {"local": 0.6, "climate": 0.4}},
            "shares.climate",
            (
                "“Composite” has no share of “for the climate to come”. Leave it empty; shares are of: local,"
                " near, far."
            ),
        ),
        (
            {"kind": "composite", "shares": {"local": 0.6, "moon": 0.4}},
            "shares.moon",
            "There is no source “moon”. Sources are: local, near, far, for the climate to come.",
        ),
        (
            {"kind": "admixture", "shares": {"local": 1.0}},
            "shares.local",
            (
                "“Regional admixture” has no shares: it takes the site's region as a whole. Leave the share of"
                " “local” empty, or choose another kind."
            ),
        ),
        (
            {"kind": "composite", "shares": {"local": 1.2, "near": -0.2}},
            "shares.local",
            "120 is out of range. Give a number from 0 to 100.",
        ),
        (
            {"kind": "admixture", "least_populations": 3, "population_cap": 0.2},
            "least_populations",
            (
                "At most 20 % of one population leaves 40 % of the plants to no population when there are only 3."
                " Ask for at least 5 populations, or raise the cap to 33.4 %."
            ),
        ),
        ({"kind": "region", "tolerance": 0.7}, "tolerance", "70 is out of range. Give a number from 0 to 50."),
        (
            {"kind": "region", "least_mothers": 0.5},
            "least_mothers",
            "0.5 is out of range. Give a number from 1 to 100,000.",
        ),
    ],
)
def test_what_cannot_be_fulfilled_is_refused(
    session: Session, maker: Maker, values: dict[str, Any], field: str, message: str
) -> None:
    with pytest.raises(Invalid) as refused:
        set_strategy(session, ANA, site=maker.site(), values=values)

    assert refused.value.errors[field] == message
