"""Sets of rules: versions from a day on, and what contradicts itself is refused."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Change, RuleSet, RuleVersion
from nursery.planning.origin.defaults import DEFAULT_RULES
from nursery.services.origin.in_force import read_in_force
from nursery.services.origin.rule_sets import (
    FIRST_DAY,
    add_version,
    archive_set,
    changed_rules,
    count_sites,
    create_set,
    default_rules,
    ensure_default,
    follow_set,
    list_sets,
)
from nursery.services.setup import set_up
from tests.conftest import Maker

ANA = "Ana Seabra"


def changed(rule: str, **terms: Any) -> dict[str, Any]:
    """The default rules with one of them changed."""
    rules = default_rules()
    rules[rule] |= terms
    return rules


def refusals(session: Session, rules: Any, today: dt.date) -> dict[str, str]:
    with pytest.raises(Invalid) as refused:
        create_set(session, ANA, name="River", valid_from=today, rules=rules, reason="Trial")
    return dict(refused.value.errors)


def test_every_database_starts_with_the_general_rules(session: Session) -> None:
    set_up(session, ANA)
    set_up(session, ANA)

    found = session.scalars(select(RuleVersion)).all()
    assert [(one.valid_from, one.rules, one.rule_set.is_default) for one in found] == [
        (FIRST_DAY, DEFAULT_RULES, True)
    ]


def test_before_there_is_any_set_the_default_rules_hold(session: Session, today: dt.date) -> None:
    found = read_in_force(session, today)

    assert [(one.version_id, one.rules) for one in found.versions] == [(None, DEFAULT_RULES)]
    assert (found.row_of(None), found.row_of(7)) == (0, 0)


def test_a_version_holds_from_its_day_on(session: Session, today: dt.date) -> None:
    general = ensure_default(session, ANA)
    rules = changed("elevation", stop=250.0)
    version = add_version(session, ANA, rule_set=general, valid_from=today, rules=rules, reason="Band of 250 m")

    found = [
        read_in_force(session, day).versions[0].rules["elevation"]["stop"]
        for day in (today - dt.timedelta(days=1), today, today + dt.timedelta(days=400))
    ]
    assert found == [300.0, 250.0, 250.0]
    assert changed_rules(DEFAULT_RULES, version.rules) == [("elevation", "stop", 300.0, 250.0)]
    note = session.scalars(select(Change).order_by(Change.id.desc()).limit(1)).one()
    assert (note.subject, note.action, note.details["reason"]) == (
        "rule_sets",
        "new version",
        [None, "Band of 250 m"],
    )


def test_a_version_is_never_put_before_another(session: Session, today: dt.date) -> None:
    general = ensure_default(session, ANA)
    add_version(session, ANA, rule_set=general, valid_from=today, rules=default_rules(), reason="Same again")

    with pytest.raises(Invalid) as refused:
        add_version(session, ANA, rule_set=general, valid_from=today, rules=default_rules(), reason="Once more")
    assert refused.value.errors == {
        "valid_from": "25 Nov 2026 is not after 25 Nov 2026, from which the newest version of “General rules”"
        " holds. What held stays readable: give a later day."
    }


@pytest.mark.parametrize(
    ("rules", "field", "message"),
    [
        (
            changed("elevation", caution=400.0),
            "elevation.caution",
            (
                "Elevation: caution above 400 lies beyond stop above 300, so that caution could never be given."
                " Write at most 300 for caution, or raise the stop."
            ),
        ),
        (
            changed("mothers", caution=10.0),
            "mothers.caution",
            (
                "Effective mothers: caution below 10 lies under stop below 15, so that caution could never be"
                " given. Write at least 15 for caution, or lower the stop."
            ),
        ),
        (
            changed("distance", stop=-5.0),
            "distance.stop",
            "Distance: -5 is below zero. Write 0 or more, or leave it empty for no limit.",
        ),
        (
            changed("family", caution=1.5),
            "family.caution",
            "Largest family: 1.5 is more than anything can differ by. Write at most 1.",
        ),
        (
            changed("rain", caution="much"),
            "rain.caution",
            "Annual rain: “much” is no number. Write one, or leave it empty.",
        ),
        (
            changed("region", differs="red"),
            "region.differs",
            "Region of provenance: “red” is no verdict. Write pass, caution or stop.",
        ),
        (
            changed("basin", basis=" "),
            "basin.basis",
            (
                "River basin has no basis. Write where its limits come from: a law, a study, or a decision of your"
                " own."
            ),
        ),
        (
            {**default_rules(), "soil": {}},
            "soil",
            (
                "There is no rule “soil”. Rules are: species, region, basin, elevation, distance, temperature,"
                " rain, frost, status, category, permit, mothers, family."
            ),
        ),
        (
            changed("permit", stop=3),
            "permit.stop",
            "Collecting permit has no “stop”. It has: basis, differs, text, unknown.",
        ),
    ],
)
def test_contradictory_limits_are_refused_by_rule_value_and_remedy(
    session: Session, today: dt.date, rules: Any, field: str, message: str
) -> None:
    assert refusals(session, rules, today) == {field: message}


def test_a_change_needs_a_name_and_a_reason(session: Session, today: dt.date) -> None:
    with pytest.raises(Invalid, match="has no name"):
        create_set(session, ANA, name=" ", valid_from=today, rules=default_rules(), reason="Trial")
    with pytest.raises(Invalid, match="why the rules change"):
        create_set(session, ANA, name="River", valid_from=today, rules=default_rules(), reason="")


def test_a_site_follows_its_own_set_once_a_version_of_it_holds(
    session: Session, maker: Maker, today: dt.date
) -> None:
    site = maker.site()
    general = ensure_default(session, ANA)
    own = create_set(
        session, ANA, name="River", valid_from=today, rules=changed("basin", differs="stop"), reason="Banks"
    )
    follow_set(session, ANA, site=site, rule_set_id=own.id)

    found = read_in_force(session, today)
    assert [found.versions[found.row_of(each)].name for each in (None, own.id)] == ["General rules", "River"]
    before = read_in_force(session, today - dt.timedelta(days=1))
    assert before.versions[before.row_of(own.id)].name == "General rules"
    assert [one.name for one in list_sets(session)] == ["General rules", "River"]
    assert count_sites(session) == {own.id: 1}
    follow_set(session, ANA, site=site, rule_set_id=general.id)
    assert site.rule_set_id is None


def test_the_general_set_and_one_that_is_followed_are_not_put_aside(
    session: Session, maker: Maker, today: dt.date
) -> None:
    general = ensure_default(session, ANA)
    own = create_set(session, ANA, name="River", valid_from=today, rules=default_rules(), reason="Banks")
    site = maker.site(rule_set_id=own.id)

    with pytest.raises(Invalid, match="set of all sites"):
        archive_set(session, ANA, rule_set=general)
    with pytest.raises(Invalid, match=f"followed by {site.code}"):
        archive_set(session, ANA, rule_set=own)
    follow_set(session, ANA, site=site, rule_set_id=None)
    archive_set(session, ANA, rule_set=own)
    assert session.scalars(select(RuleSet.name).where(RuleSet.archived_at.is_(None))).all() == ["General rules"]
    with pytest.raises(Invalid, match="no longer in use"):
        follow_set(session, ANA, site=site, rule_set_id=own.id)
