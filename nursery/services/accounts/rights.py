"""What each role may do: the one table of rights. Pages and API calls name the right they need."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from functools import cache

from nursery.i18n import lazy as _l
from nursery.models.accounts import Role


class Right(StrEnum):
    """Something that a person may or may not do."""

    SEE = "see"
    SEE_PRIVATE = "see-private"
    COLLECT = "collect"
    KEEP_SEED = "keep-seed"
    GROW = "grow"
    DELIVER = "deliver"
    WORK = "work"
    PLAN = "plan"
    ADMINISTER = "administer"


_STAFF = frozenset({Right.SEE, Right.SEE_PRIVATE, Right.WORK})

RIGHTS: dict[Role, frozenset[Right]] = {
    Role.COORDINATOR: frozenset(Right) - {Right.ADMINISTER},
    Role.SEED_KEEPER: _STAFF | {Right.COLLECT, Right.KEEP_SEED},
    Role.GROWER: _STAFF | {Right.GROW, Right.DELIVER},
    Role.COLLECTOR: _STAFF | {Right.COLLECT},
    Role.VIEWER: frozenset({Right.SEE}),
    Role.ADMINISTRATOR: frozenset({Right.SEE, Right.SEE_PRIVATE, Right.ADMINISTER}),
}

ROLE_NAMES = {
    Role.COORDINATOR: _l("Coordinator"),
    Role.SEED_KEEPER: _l("Seed keeper"),
    Role.GROWER: _l("Grower"),
    Role.COLLECTOR: _l("Field collector"),
    Role.VIEWER: _l("Viewer"),
    Role.ADMINISTRATOR: _l("Administrator of accounts"),
}

ROLE_HINTS = {
    Role.COORDINATOR: _l("Plans, decides, signs, and may do everything but look after accounts."),
    Role.SEED_KEEPER: _l("Collecting trips, lots, tests and storage."),
    Role.GROWER: _l("Batches, benches, health, supplies, loads, plantings and surveys."),
    Role.COLLECTOR: _l("Collecting trips, populations and what was found there, plantings and surveys."),
    Role.VIEWER: _l("Sees, changes nothing, and sees no private data: for funders and authorities."),
    Role.ADMINISTRATOR: _l("Invites people, gives roles, ends sessions; changes no records of the nursery."),
}

#: What a right lets a person do, to finish the sentence “… may”.
RIGHT_NAMES = {
    Right.SEE: _l("look at the records"),
    Right.SEE_PRIVATE: _l(
        "see private data: people, contacts, exact places of protected stands, the record of changes"
    ),
    Right.COLLECT: _l("write down trips, populations, plantings and surveys"),
    Right.KEEP_SEED: _l("change lots, tests and storage"),
    Right.GROW: _l("change batches, benches, health and supplies"),
    Right.DELIVER: _l("send loads and draw up papers"),
    Right.WORK: _l("do tasks and write hours down"),
    Right.PLAN: _l("plan, decide and change settings"),
    Right.ADMINISTER: _l("look after accounts"),
}


def rights_of(roles: Iterable[Role]) -> frozenset[Right]:
    """All that the roles allow together."""
    return _together(frozenset(roles))


@cache
def _together(roles: frozenset[Role]) -> frozenset[Right]:
    return frozenset().union(*(RIGHTS[role] for role in roles))


def roles_with(right: Right) -> list[Role]:
    """The roles that have a right, in the order of the table."""
    return [role for role, rights in RIGHTS.items() if right in rights]
