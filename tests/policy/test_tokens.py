"""Every call of the API by every kind of token: its scope, its end, and what became of its account."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import pytest
from flask import Flask
from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Account, AccountRole, Batch, Change, Lot, Task
from nursery.models.accounts import Role, Scope
from nursery.planning.work.words import TaskStatus
from nursery.services.accounts import people
from nursery.services.accounts.api_tokens import LONGEST_DAYS, end_token, make_token, tokens_of
from tests.conftest import TODAY
from tests.policy.roles import LETTERS, calls, cookie, expected, passes, paths
from tests.signing_in import FAR, write_sign_in

PERSON = "Ana Seabra"
#: What tokens meet that are good no longer, or never were.
OVER = (
    "of yesterday", "ended by its owner", "ended by the administrator", "of a closed account",
    "of an account that was closed and opened again", "made up", "empty",
)  # fmt: skip


def given(session: Session, name: str, *roles: Role, scope: Scope = Scope.WRITE, ends_on: dt.date = TODAY) -> str:
    """Secret of a token of a new account."""
    email = f"{name.replace(' ', '.').lower()}@programs.example"
    account = write_sign_in(session, *roles, name=name, email=email, token=name)
    session.flush()
    _row, secret = make_token(
        session, PERSON, account=account, name="Sensor sheet", scope=scope, ends_on=ends_on,
        today=min(TODAY, ends_on),
    )  # fmt: skip
    return secret


def account_of(session: Session, name: str) -> Account:
    return session.scalars(select(Account).where(Account.name == name)).one()


@pytest.fixture(scope="module")
def tokens(peopled: tuple[Flask, Session]) -> Mapping[str, str]:
    """Secrets by what they are."""
    _app, session = peopled
    found = {letter: given(session, f"Writes as {letter}", role) for letter, role in LETTERS.items()}
    found |= {
        letter.lower(): given(session, f"Reads as {letter}", role, scope=Scope.READ)
        for letter, role in LETTERS.items()
    }
    every = tuple(Role)
    found["without a role"] = given(session, "Lost the role", *every)
    session.execute(delete(AccountRole).where(AccountRole.account_id == account_of(session, "Lost the role").id))
    found["of yesterday"] = given(session, "Was good till now", *every, ends_on=TODAY - dt.timedelta(days=1))
    for number, who in enumerate(("its owner", "the administrator")):
        found[f"ended by {who}"] = given(session, f"Ended {number}", *every)
        account = account_of(session, f"Ended {number}")
        (row,) = account_tokens(session, account)
        end_token(session, account.name if number == 0 else PERSON, account=account, token_id=row, at=FAR)
    found["of a closed account"] = given(session, "Has left", *every)
    found["of an account that was closed and opened again"] = given(session, "Has come back", *every)
    for name in ("Has left", "Has come back"):
        people.close(session, PERSON, account=account_of(session, name), at=FAR)
    people.reopen(session, PERSON, account=account_of(session, "Has come back"))
    found |= {"made up": "no-such-token-was-ever-made", "empty": ""}
    session.commit()
    session.expire_all()
    return found


def account_tokens(session: Session, account: Account) -> list[int]:
    return [row.id for row in tokens_of(session, account.id, TODAY)]


def bearing(secret: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {secret}"}


def test_every_call_is_open_to_the_tokens_that_it_is_for_and_to_no_other(
    peopled: tuple[Flask, Session], tokens: Mapping[str, str]
) -> None:
    app, session = peopled
    before = session.scalar(select(func.count()).select_from(Change))
    addresses, wrong, asked = paths(app, session), [], 0
    for rule, method in calls(app):
        if not rule.rule.startswith("/api/"):
            continue
        is_open = rule.endpoint.startswith("document_api.")
        allowed = "".join(LETTERS) if is_open else expected(app, rule)
        # Whoever may only look may have it: then a token for reading may, too.
        reading = allowed if "V" in allowed else ""
        for kind, secret in tokens.items():
            if is_open or kind in allowed or kind in reading.lower():
                wanted = "through"
            else:
                wanted = "401" if kind in OVER else "refused"
            found = passes(app, addresses[rule.endpoint], method, bearing(secret))
            asked += 1
            if found != wanted:
                wrong.append((kind, method, rule.endpoint, found))

    assert wrong == []
    assert asked > 800
    session.rollback()  # what was read first is all that a transaction sees
    assert session.scalar(select(func.count()).select_from(Change)) == before


def test_a_token_opens_no_page_and_no_browser_bears_one(
    peopled: tuple[Flask, Session], tokens: Mapping[str, str]
) -> None:
    app, session = peopled
    addresses = paths(app, session)
    pages = [
        rule for rule, method in calls(app)
        if method == "GET" and rule.endpoint.startswith(("lots.", "batches.", "account."))
    ]  # fmt: skip
    met = {passes(app, addresses[rule.endpoint], "GET", bearing(tokens["C"])) for rule in pages}

    assert len(pages) > 10
    assert met == {"sign in"}
    assert passes(app, "/api/v1/lots", "GET", cookie(tokens["C"])) == "401"


def test_a_token_that_is_no_longer_good_is_not_made_good_by_a_browser_that_is(
    peopled: tuple[Flask, Session], tokens: Mapping[str, str]
) -> None:
    app, _session = peopled

    assert passes(app, "/api/v1/lots", "GET", cookie("token-of-C")) == "through"
    assert passes(app, "/api/v1/lots", "GET", cookie("token-of-C") | bearing(tokens["made up"])) == "401"


def test_what_goes_through_is_answered_and_what_is_refused_writes_nothing(
    peopled: tuple[Flask, Session], tokens: Mapping[str, str]
) -> None:
    app, session = peopled
    batch = session.scalars(select(Batch).where(Batch.alive > 50, Batch.archived_at.is_(None)).limit(1)).one()
    lot = session.scalars(select(Lot).where(Lot.amount_mg > 100_000, Lot.archived_at.is_(None)).limit(1)).one()
    task = session.scalars(
        select(Task).where(Task.status == TaskStatus.OPEN, Task.nursery_id.is_not(None), Task.batch_id.is_(None))
    ).first()
    assert task is not None
    sent = {
        f"/api/v1/batches/{batch.id}/counts": {"stage": batch.stage.value, "plants": batch.alive - 3},
        f"/api/v1/batches/{batch.id}/losses": {"plants": 2, "cause": "drought", "reason": "the fan stood still"},
        f"/api/v1/lots/{lot.id}/germination-tests": {
            "counts": [88, 90, 91, 89], "seeds": 100, "taken": 4, "tested_on": TODAY.isoformat(),
        },
        f"/api/v1/tasks/{task.id}/done": {},
    }  # fmt: skip
    client = app.test_client(use_cookies=False)
    posts = [rule for rule, method in calls(app) if method == "POST" and rule.endpoint.startswith("writes_api.")]
    assert len(posts) == len(sent)

    def changes() -> int:
        session.rollback()
        return session.scalar(select(func.count()).select_from(Change)) or 0

    for address, body in sent.items():
        before = changes()
        for kind in ("v", "V", "c", "A", "F" if "tasks" not in address else "a", "without a role", *OVER):
            answer = client.post(address, json=body, headers=bearing(tokens[kind]))
            assert (kind, answer.status_code) == (kind, 401 if kind in OVER else 403)
            assert list(answer.get_json()["errors"]) == ["request"]
        assert changes() == before
        answer = client.post(address, json=body, headers=bearing(tokens["C"]))
        assert (address, answer.status_code, changes() > before) == (address, 201, True)
    assert client.get("/api/v1/lots", headers=bearing(tokens["v"])).status_code == 200


def test_a_token_lasts_a_year_at_most(peopled: tuple[Flask, Session], tokens: Mapping[str, str]) -> None:
    _app, session = peopled
    account = account_of(session, "Writes as C")
    days = {"name": "Sheet", "scope": Scope.READ, "today": TODAY}
    for ends_on in (TODAY - dt.timedelta(days=1), TODAY + dt.timedelta(days=LONGEST_DAYS + 1)):
        with pytest.raises(Invalid, match="between today and a year"):
            make_token(session, PERSON, account=account, ends_on=ends_on, **days)
    session.rollback()
