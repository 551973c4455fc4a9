"""Which right each page needs: the one table. A route that is not in it is refused to all, and fails the tests.

A blueprint has a right for looking and one for changing. A route that takes a POST needs the latter for its form
too. Single routes that differ stand in `ROUTES`. Where several rights are named, any of them will do.
"""

from __future__ import annotations

from flask import current_app

from nursery.services.accounts.rights import Right
from nursery.web.once import once

Rights = frozenset[Right]


def _any(*rights: Right) -> Rights:
    return frozenset(rights)


SEE, PRIVATE, WORK = _any(Right.SEE), _any(Right.SEE_PRIVATE), _any(Right.WORK)
COLLECT, SEED, GROW = _any(Right.COLLECT), _any(Right.KEEP_SEED), _any(Right.GROW)
DELIVER, PLAN, ADMINISTER = _any(Right.DELIVER), _any(Right.PLAN), _any(Right.ADMINISTER)
#: Nobody need be signed in.
OPEN: Rights = frozenset()
#: For blueprints that only show.
NOBODY_CHANGES = PLAN

#: Blueprint → what looking and what changing need.
BLUEPRINTS: dict[str, tuple[Rights, Rights]] = {
    "language": (OPEN, OPEN),
    "feeds": (OPEN, OPEN),
    "sign_in": (OPEN, OPEN),
    "account": (SEE, SEE),
    "accounts": (ADMINISTER, ADMINISTER),
    "changes": (PRIVATE, NOBODY_CHANGES),
    "season": (SEE, NOBODY_CHANGES),
    "sowing": (SEE, NOBODY_CHANGES),
    "calendar": (SEE, NOBODY_CHANGES),
    "work": (PRIVATE, WORK),
    "people": (PRIVATE, PLAN),
    "species": (SEE, PLAN),
    "populations": (PRIVATE, COLLECT),
    "trips": (PRIVATE, COLLECT),
    "permits": (PRIVATE, PLAN),
    "attachments": (PRIVATE, COLLECT | SEED | GROW | PLAN),
    "storage": (SEE, SEED),
    "lots": (SEE, SEED),
    "watch": (SEE, NOBODY_CHANGES),
    "sites": (SEE, PLAN),
    "nurseries": (SEE, PLAN),
    "containers": (SEE, PLAN | GROW),
    "batches": (SEE, GROW),
    "benches": (SEE, GROW),
    "space": (SEE, GROW | PLAN),
    "supplies": (SEE, GROW),
    "forecast": (SEE, GROW | PLAN),
    "targets": (SEE, PLAN),
    "plans": (SEE, PLAN),
    "hours": (PRIVATE, WORK),
    "standard_times": (PRIVATE, PLAN),
    "costs": (PRIVATE, NOBODY_CHANGES),
    "expenses": (PRIVATE, PLAN),
    "what_if": (PLAN, PLAN),
    "settings": (PLAN, PLAN),
    "search": (SEE, NOBODY_CHANGES),
    "imports": (PLAN, PLAN),
    "needs": (PRIVATE, NOBODY_CHANGES),
    "programme": (PRIVATE, NOBODY_CHANGES),
    "ready": (SEE, NOBODY_CHANGES),
    "next_year": (SEE, NOBODY_CHANGES),
    "stock": (SEE, NOBODY_CHANGES),
    "trace": (SEE, NOBODY_CHANGES),
    "dossiers": (SEE, NOBODY_CHANGES),
    "plantings": (SEE, DELIVER | COLLECT),
    "surveys": (SEE, DELIVER | COLLECT),
    "plots": (SEE, DELIVER | COLLECT),
    "dispatches": (SEE, DELIVER),
    "recipients": (PRIVATE, DELIVER),
    "quality": (SEE, DELIVER | GROW | SEED),
    "origin": (SEE, PLAN),
    "calculators": (SEE, SEE),
    "zones": (SEE, PLAN),
    "climates": (PRIVATE, PLAN),
    "map": (PRIVATE, NOBODY_CHANGES),
    "health": (SEE, GROW),
    "scoutings": (SEE, GROW),
    "treatments": (SEE, GROW),
    "season_reports": (SEE, PLAN),
    "deviations": (SEE, PLAN | DELIVER),
    "papers": (SEE, DELIVER | SEED),
    "movement_book": (SEE, NOBODY_CHANGES),
    "declaration": (SEE, NOBODY_CHANGES),
    "calculators_api": (SEE, SEE),
    "plans_api": (SEE, PLAN),
    "resources_api": (SEE, NOBODY_CHANGES),
    "tables_api": (SEE, NOBODY_CHANGES),
    "writes_api": (NOBODY_CHANGES, NOBODY_CHANGES),
    "document_api": (OPEN, OPEN),
    "api_guide": (SEE, NOBODY_CHANGES),
}

#: Single routes that need something else than their blueprint.
ROUTES: dict[str, Rights] = {
    "static": OPEN,
    # Who collects writes the lot down where it was found; letting a held lot go again is the coordinator's.
    "lots.new": SEED | COLLECT,
    "lots.field_facts": SEED | COLLECT,
    "lots.bags": SEED | COLLECT,
    "lots.release": PLAN,
    "permits.notice": PLAN | COLLECT,
    "surveys.replace": PLAN,
    "surveys.take": PLAN,
    "papers.sign_paper": PLAN,
    "papers.ruling": PLAN,
    "papers.withdraw": PLAN,
    "settings.logo": SEE,
    "season_reports.making": PLAN,
    "writes_api.batches_counts": GROW,
    "writes_api.batches_losses": GROW,
    "writes_api.lots_germination_tests": SEED,
    "writes_api.tasks_done": WORK,
}


class Unruled(LookupError):  # noqa: N818 -- reads as a sentence
    """A route that the table does not know."""


def needed(endpoint: str) -> Rights:
    """The rights of which one is needed for a route; empty when nobody need be signed in."""
    if endpoint in ROUTES:
        return ROUTES[endpoint]
    blueprint = endpoint.rpartition(".")[0]
    if blueprint not in BLUEPRINTS:
        raise Unruled(endpoint)
    look, change = BLUEPRINTS[blueprint]
    return change if writes(endpoint) else look


def writes(endpoint: str) -> bool:
    """Whether a route takes what is sent."""
    return once(("writes", endpoint), lambda: _writes(endpoint))


def _writes(endpoint: str) -> bool:
    return any("POST" in (rule.methods or ()) for rule in current_app.url_map.iter_rules(endpoint))
