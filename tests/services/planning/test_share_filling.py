"""What of a share lacks in the demo season, and which seed would bring it."""

from __future__ import annotations

import datetime as dt

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Plan, PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.origin.words import NeedPurpose
from nursery.services.planning import current_plan, plan_as_data
from nursery.services.planning.filling import fill_of
from nursery.services.planning.lines import first_step, read_line, read_mix, tell_line
from nursery.services.planning.promises import read_promises
from nursery.services.planning.share_filling import share_fills_of
from nursery.services.planning.trial import try_fill

SITE = "Corvenda burnt slope"


def plan_of(session: Session) -> Plan:
    found = current_plan(session)
    assert found is not None
    return found


def line_of(session: Session, species: str, site: str = SITE) -> PlanLine:
    query = select(PlanLine).where(
        PlanLine.species_name == species, PlanLine.site_name == site, PlanLine.plan_id == plan_of(session).id
    )
    return session.scalars(query.order_by(PlanLine.season).limit(1)).one()


def shares_of(session: Session, line: PlanLine, today: dt.date) -> list[str]:
    promised = read_promises(session, plan_of(session), [line], today=today)
    return [fill.sentence for fill in share_fills_of(promised.get(line.id, []))]


def test_a_composite_line_with_seed_of_each_source_meets_all_its_shares(demo_session: Session) -> None:
    line = line_of(demo_session, "Quercus faginea")
    mix = read_mix(line)
    assert mix is not None
    assert [(share.label, share.holds) for share in mix.shares] == [("local", True), ("near", True), ("far", True)]
    assert (line.status, line.need_parts) == (LineStatus.ON_TRACK, [])
    assert [problem["code"] for problem in line.problems if problem["code"].startswith("share-")] == []


def test_a_share_that_is_missed_says_what_to_collect_and_that_the_number_is_full(
    demo_session: Session, today: dt.date
) -> None:
    line = line_of(demo_session, "Arbutus unedo")
    (told,) = shares_of(demo_session, line, today)
    assert told.startswith("Far: 0 % of the plants, where the site’s strategy asks for 10 %; ")
    assert "from population Ozelta ravine, ravine scrub (far)" in told
    assert told.endswith("collected by 12 Jan 2028, would bring it.")
    assert (line.status, line.seeds_missing, line.shortfall) == (LineStatus.ON_TRACK, 0, 0)
    view = read_line(demo_session, line.id)
    steps = tell_line(view)
    (step,) = [step for step in steps if step.kind == "collect"]
    assert (step.title, step.is_optional) == ("Collect seed for the shares", True)
    first = first_step(view, steps, today)
    assert first is not None
    assert first.kind != "collect"


def test_where_no_population_of_a_source_is_known_one_must_be_found(demo_session: Session, today: dt.date) -> None:
    told = shares_of(demo_session, line_of(demo_session, "Pyrus bourgaeana", "Sovelha hillside"), today)
    missed = (
        "%s: 0 % of the plants, where the site’s strategy asks for %s, and no population is known that could give"
        " it: one must be found by 30 Nov 2027."
    )
    found = [
        missed.replace("%s", source, 1).replace("%s", share)
        for source, share in (
            ("Climate to come", "20 %"),
            ("Near", "30 %"),
        )
    ]
    assert told == found


def test_a_season_that_is_over_is_told(demo_session: Session) -> None:
    told = shares_of(demo_session, line_of(demo_session, "Arbutus unedo"), dt.date(2028, 2, 1))
    assert [sentence.rpartition("; ")[2] for sentence in told] == [
        "the season for collecting it ended on 12 Jan 2028."
    ]


def test_what_lacks_of_far_seed_is_collected_from_afar_and_fills_the_line(
    demo_session: Session, today: dt.date
) -> None:
    line = line_of(demo_session, "Quercus suber")
    fill = fill_of(read_promises(demo_session, plan_of(demo_session), [line], today=today)[line.id])
    assert fill is not None
    assert [part.population_name for part in fill.parts] == ["Ozelta ravine, cork oak slope (far)"]
    assert try_fill(demo_session, line.id, today=today).fills


def test_a_source_without_a_population_is_named_and_local_seed_is_offered_instead(
    demo_session: Session, today: dt.date
) -> None:
    line = line_of(demo_session, "Quercus suber", "Sovelha hillside")
    fill = fill_of(read_promises(demo_session, plan_of(demo_session), [line], today=today)[line.id])
    assert fill is not None
    assert fill.sentence.endswith(
        "one must be found by 23 Jan 2027. What lacks is to be of the source: for the climate to come. Local seed"
        " would fill the number as well, but miss the share."
    )


@pytest.mark.parametrize("key", ["collect", "collect_for_shares"])
def test_the_contract_keeps_what_only_shares_lack_apart(demo_session: Session, key: str) -> None:
    plan = plan_of(demo_session)
    data = plan_as_data(demo_session, plan)
    purpose = NeedPurpose.PLANTS if key == "collect" else NeedPurpose.SHARES
    kept = [need for need in plan.needs if need.purpose is purpose]
    assert [(need["species"], need["source"], need["seeds"]) for need in data[key]] == [
        (need.species_name, need.source.value, need.seeds) for need in kept
    ]
    assert len(kept) > 3
    missing = sum(line["seeds_missing"] for line in data["lines"] if line["status"] == "collect")
    assert sum(need["seeds"] for need in data["collect"]) == missing
