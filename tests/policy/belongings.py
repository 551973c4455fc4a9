"""Whose the records are that writing routes are about, written down a second time, by hand and in SQL."""

from __future__ import annotations

from flask import Flask
from sqlalchemy import text
from sqlalchemy.orm import Session
from werkzeug.routing import Rule

from tests.policy.roles import calls

#: Blueprint or route → the numbers of its address, of a record that belongs to the nursery ``:n`` and to no other.
OF_A_NURSERY = {
    "attachments": (
        "SELECT a.id AS attachment_id, 'scoutings' AS subject, s.id AS subject_id"
        " FROM attachments a JOIN scoutings s ON a.subject = 'scoutings' AND s.id = a.subject_id"
        " WHERE s.nursery_id = :n"
    ),
    "batches": (
        "SELECT b.id AS record_id, c.id AS count_id FROM batches b JOIN counts c ON c.batch_id = b.id"
        " WHERE b.nursery_id = :n AND b.archived_at IS NULL AND c.withdrawn_at IS NULL"
    ),
    "benches": "SELECT id AS record_id FROM benches WHERE nursery_id = :n",
    "containers": "SELECT id AS record_id FROM containers WHERE nursery_id = :n",
    "dispatches": (
        "SELECT l.dispatch_id AS record_id, l.id AS load_line_id, r.id AS return_id"
        " FROM dispatch_lines l JOIN batches b ON b.id = l.batch_id JOIN returned_plants r ON r.line_id = l.id"
        " WHERE b.nursery_id = :n"
        " AND NOT EXISTS (SELECT 1 FROM dispatch_lines o JOIN batches ob ON ob.id = o.batch_id"
        " WHERE o.dispatch_id = l.dispatch_id AND ob.nursery_id <> :n)"
    ),
    "expenses": (
        "SELECT e.id AS record_id FROM expenses e JOIN batches b ON b.id = e.batch_id WHERE b.nursery_id = :n"
    ),
    "health.lift_one": (
        "SELECT q.id AS quarantine_id FROM quarantines q JOIN batches b ON b.id = q.batch_id"
        " WHERE b.nursery_id = :n"
    ),
    "health.new_hygiene": "SELECT id AS nursery_id FROM nurseries WHERE id = :n",
    "hours": (
        "SELECT w.id AS record_id FROM work_times w JOIN batches b ON b.id = w.batch_id WHERE b.nursery_id = :n"
    ),
    "nurseries": "SELECT id AS record_id FROM nurseries WHERE id = :n",
    "papers": (
        "SELECT p.id AS record_id, l.dispatch_id"
        " FROM dispatch_lines l JOIN batches b ON b.id = l.batch_id JOIN papers p ON p.dispatch_id = l.dispatch_id"
        " WHERE b.nursery_id = :n"
        " AND NOT EXISTS (SELECT 1 FROM dispatch_lines o JOIN batches ob ON ob.id = o.batch_id"
        " WHERE o.dispatch_id = l.dispatch_id AND ob.nursery_id <> :n)"
    ),
    "plantings": (
        "SELECT p.id AS record_id FROM plantings p JOIN batches b ON b.id = p.batch_id WHERE b.nursery_id = :n"
    ),
    "quality": (
        "SELECT q.id AS look_id, b.id AS batch_id FROM quality_checks q JOIN batches b ON b.id = q.batch_id"
        " WHERE b.nursery_id = :n"
    ),
    "scoutings": "SELECT id AS record_id FROM scoutings WHERE nursery_id = :n",
    "supplies": (
        "SELECT s.id AS record_id FROM supplies s JOIN containers c ON c.id = s.container_id"
        " WHERE c.nursery_id = :n"
    ),
    "treatments": (
        "SELECT t.id AS record_id FROM treatments t JOIN benches b ON b.id = t.bench_id WHERE b.nursery_id = :n"
    ),
    "work": "SELECT id AS record_id FROM tasks WHERE nursery_id = :n AND batch_id IS NULL AND status = 'open'",
    "writes_api.batches_counts": "SELECT id AS record_id FROM batches WHERE nursery_id = :n",
    "writes_api.batches_losses": "SELECT id AS record_id FROM batches WHERE nursery_id = :n",
    "writes_api.tasks_done": "SELECT id AS record_id FROM tasks WHERE nursery_id = :n AND status = 'open'",
}
_SEED, _FIELD = "seed is all nurseries'", "where plants go is all nurseries'"
_PLAN, _OWN = "there is one plan for all nurseries", "an account's own, or the administrators'"
_OFFICE = "of the whole organisation"
#: Blueprint or route → why what it changes is of no nursery.
COMMON = {
    "account": _OWN, "accounts": _OWN, "sign_in": _OWN, "language": _OWN,
    "calculators_api": "nothing is written",
    "climates": _SEED, "lots": _SEED, "permits": _SEED, "populations": _SEED, "storage": _SEED, "trips": _SEED,
    "zones": _SEED, "species": _SEED, "papers.give_seed": _SEED, "papers.draw_gift": _SEED,
    "writes_api.lots_germination_tests": _SEED,
    "papers.ruling": _FIELD, "papers.withdraw": _FIELD, "origin": _FIELD,
    "plots": _FIELD, "recipients": _FIELD, "sites": _FIELD, "surveys": _FIELD,
    "dispatches.for_site": "a load without lines is of no nursery yet",
    "dispatches.new": "a load without lines is of no nursery yet",
    "plans": _PLAN, "targets": _PLAN, "what_if": _PLAN, "space.take_over_moves": _PLAN,
    "work.refresh": "tasks are made anew from the one plan and from what was written down",
    "deviations": _OFFICE, "health.contact": _OFFICE, "people": _OFFICE, "season_reports": _OFFICE,
    "settings": _OFFICE, "space.rooms_page": _OFFICE, "standard_times": _OFFICE,
}  # fmt: skip
#: Routes without a number in their address, whose form may name a nursery's record; tried one by one.
BY_FORM = {
    "batches.new", "benches.new", "containers.new", "expenses.new", "forecast.move", "health.shut_off",
    "hours.log_new", "imports.confirm", "imports.upload", "nurseries.new", "plantings.new", "scoutings.new",
    "supplies.new", "treatments.new", "work.assign", "work.done_many", "work.move_many",
}  # fmt: skip


def writing(app: Flask) -> list[Rule]:
    """Every route that takes what is sent."""
    return [rule for rule, method in calls(app) if method == "POST"]


def found(table: dict[str, str], rule: Rule) -> str:
    """What a table says of a route, or else of its blueprint; nothing if it says nothing."""
    return table.get(rule.endpoint) or table.get(rule.endpoint.rpartition(".")[0]) or ""


def owned(app: Flask) -> list[Rule]:
    """Routes about a record of a nursery."""
    return [
        rule for rule in writing(app)
        if rule.endpoint not in BY_FORM and rule.endpoint not in COMMON and found(OF_A_NURSERY, rule)
    ]  # fmt: skip


def address(app: Flask, session: Session, rule: Rule, nursery_id: int) -> str:
    """Where a route changes a record of a nursery."""
    row = (
        session.execute(text(f"{found(OF_A_NURSERY, rule)} ORDER BY 1 LIMIT 1"), {"n": nursery_id})
        .mappings()
        .one()
    )
    numbers = {name: value for name, value in row.items() if name in rule.arguments}
    words = {"act_name": "sample", "act": "some-act", "part": "all"}
    chosen = {
        name: min(rule._converters[name].items) if hasattr(rule._converters[name], "items") else words[name]
        for name in rule.arguments - numbers.keys()
    }
    with app.test_request_context():
        return str(app.url_map.bind("localhost").build(rule.endpoint, {**chosen, **numbers}))
