"""Signing in: who is let in, who has to wait, and how long it lasts."""

from __future__ import annotations

import datetime as dt

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid, NotFound
from nursery.models import Account, Change, FailedSignIn
from nursery.models.accounts import Role, Scope
from nursery.services.accounts import api_tokens, people, second_factor, sign_in
from nursery.services.accounts.rights import Right, rights_of

NOON = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
DAY = NOON.date()
PASSWORD = "heron willow 47 kettle"
ADDRESS = "192.0.2.7"


def later(**span: float) -> dt.datetime:
    return NOON + dt.timedelta(**span)


@pytest.fixture
def salma(session: Session) -> Account:
    """A grower who has set her password."""
    account, secret = people.invite(
        session, "Ana Seabra", name="Salma", email="Salma@River.example ", roles=[Role.GROWER], at=NOON
    )
    people.use_link(session, secret=secret, password=PASSWORD, at=NOON)
    return account


def enter(session: Session, password: str = PASSWORD, *, at: dt.datetime = NOON, email: str = "") -> Account:
    return sign_in.check_password(
        session, email=email or "salma@river.example", password=password, address=ADDRESS, at=at
    )


def test_the_right_password_lets_in_whatever_the_capitals_of_the_address(session: Session, salma: Account) -> None:
    assert enter(session, email=" SALMA@river.example") is salma
    assert "argon2id" in salma.password_hash
    assert PASSWORD not in salma.password_hash


@pytest.mark.parametrize("email", ["salma@river.example", "nobody@river.example"])
def test_a_wrong_password_and_an_unknown_address_are_told_alike(
    session: Session, salma: Account, email: str
) -> None:
    with pytest.raises(Invalid) as refused:
        enter(session, "not the password", email=email)

    assert refused.value.errors == {
        "password": "E-mail address and password do not fit together. Type both again."
    }


def test_after_five_wrong_tries_even_the_right_password_has_to_wait(session: Session, salma: Account) -> None:
    for minute in range(5):
        with pytest.raises(Invalid):
            enter(session, "wrong", at=later(minutes=minute))

    with pytest.raises(sign_in.Wait, match="Wait 11 minutes"):
        enter(session, at=later(minutes=4))
    with pytest.raises(sign_in.Wait, match="Wait 1 minute,"):
        enter(session, at=later(minutes=14.5))
    assert enter(session, at=later(minutes=15.1)) is salma


def test_who_came_in_begins_to_count_anew(session: Session, salma: Account) -> None:
    for _try in range(4):
        with pytest.raises(Invalid):
            enter(session, "wrong")
    sign_in.begin(session, account=enter(session), device="", at=NOON)

    assert session.scalar(select(func.count()).select_from(FailedSignIn)) == 0


def test_one_address_cannot_try_many_accounts(session: Session, salma: Account) -> None:
    for number in range(sign_in.TRIES_ADDRESS):
        with pytest.raises(Invalid):
            enter(session, "wrong", email=f"{number}@river.example")

    with pytest.raises(sign_in.Wait):
        enter(session)


def test_a_browser_stays_signed_in_while_used_and_for_two_weeks_at_most(session: Session, salma: Account) -> None:
    token = sign_in.begin(session, account=salma, device="A browser", at=NOON)
    found = sign_in.find(session, token, later(hours=11.9))
    assert found is not None
    who, row = found

    assert (who.account_id, who.name, who.rights) == (salma.id, "Salma", rights_of([Role.GROWER]))
    assert sign_in.find(session, token, later(hours=12)) is None
    for hours in range(10, 14 * 24, 10):
        sign_in.note_use(session, row.id, later(hours=hours))
        session.expire_all()
    assert sign_in.find(session, token, later(days=13, hours=23)) is not None
    assert sign_in.find(session, token, later(days=14)) is None
    assert sign_in.find(session, "another token", NOON) is None


def test_signing_out_ends_one_browser_or_all(session: Session, salma: Account) -> None:
    phone, desk, tablet = (sign_in.begin(session, account=salma, device=name, at=NOON) for name in "abc")
    session.flush()
    row = sign_in.find(session, phone, NOON)
    assert row is not None
    sign_in.end(session, "Salma", account=salma, at=NOON, sign_in_id=row[1].id)

    assert sign_in.find(session, phone, NOON) is None
    assert sign_in.find(session, desk, NOON) is not None
    sign_in.end(session, "Salma", account=salma, at=NOON)
    assert [sign_in.find(session, token, NOON) for token in (desk, tablet)] == [None, None]


def test_a_new_password_signs_every_browser_out_and_leaves_tokens(session: Session, salma: Account) -> None:
    browser = sign_in.begin(session, account=salma, device="", at=NOON)
    _row, token = api_tokens.make_token(
        session, "Salma", account=salma, name="Sheet", scope=Scope.READ, ends_on=DAY, today=DAY
    )
    people.change_password(session, account=salma, old=PASSWORD, new="otter bridge 19 lantern", at=NOON)

    assert sign_in.find(session, browser, NOON) is None
    assert api_tokens.find_token(session, token, DAY) is not None
    with pytest.raises(Invalid, match="not your password of today"):
        people.change_password(session, account=salma, old=PASSWORD, new="otter bridge 20 lantern", at=NOON)


def test_a_link_is_good_once_for_a_week_and_until_the_next_one(session: Session, salma: Account) -> None:
    first = people.new_link(session, "Ana Seabra", account=salma, at=NOON)
    second = people.new_link(session, "Ana Seabra", account=salma, at=NOON)
    session.flush()

    assert people.account_of_link(session, first, NOON) is None
    assert people.account_of_link(session, second, later(days=6.9)) is salma
    assert people.account_of_link(session, second, later(days=7)) is None
    people.use_link(session, secret=second, password="otter bridge 19 lantern", at=NOON)
    with pytest.raises(NotFound, match="used already"):
        people.use_link(session, secret=second, password="otter bridge 20 lantern", at=NOON)


def test_the_codes_are_those_of_the_published_standard() -> None:
    """RFC 6238, appendix B: secret "12345678901234567890", SHA-1; its last six digits of eight."""
    account = Account(totp_step=0)
    secret = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"

    for seconds, code in ((59, "287082"), (1111111109, "081804"), (1234567890, "005924"), (20000000000, "353130")):
        assert second_factor.code_fits(account, secret, code, dt.datetime.fromtimestamp(seconds, dt.UTC))


def test_a_code_is_good_once_and_for_a_step_around_its_own(session: Session, salma: Account) -> None:
    import pyotp

    secret = second_factor.new_secret()
    code = pyotp.TOTP(secret).at(NOON)
    second_factor.switch_on(session, "Salma", account=salma, secret=secret, code=f"{code[:3]} {code[3:]}", at=NOON)

    with pytest.raises(Invalid, match="not the code of this moment"):  # the same once more
        sign_in.check_code(session, account=salma, code=code, address=ADDRESS, at=NOON)
    later_code = pyotp.TOTP(secret).at(later(minutes=5))
    with pytest.raises(Invalid):  # one that is not good yet
        sign_in.check_code(session, account=salma, code=later_code, address=ADDRESS, at=NOON)
    sign_in.check_code(session, account=salma, code=later_code, address=ADDRESS, at=later(minutes=5, seconds=20))


def test_wrong_codes_are_braked_as_wrong_passwords_are(session: Session, salma: Account) -> None:
    salma.totp_secret = second_factor.new_secret()
    for _try in range(sign_in.TRIES_ACCOUNT):
        with pytest.raises(Invalid):
            sign_in.check_code(session, account=salma, code="000000", address=ADDRESS, at=NOON)

    with pytest.raises(sign_in.Wait):
        sign_in.check_code(session, account=salma, code="000000", address=ADDRESS, at=NOON)


def test_tokens_are_cut_to_their_scope_and_show_no_private_data(session: Session, salma: Account) -> None:
    read, write = (
        api_tokens.make_token(session, "Salma", account=salma, name="Sheet", scope=scope, ends_on=DAY, today=DAY)[
            1
        ]
        for scope in (Scope.READ, Scope.WRITE)
    )
    reading, writing = (api_tokens.find_token(session, token, DAY) for token in (read, write))
    assert reading is not None
    assert writing is not None

    assert reading.rights == {Right.SEE}
    assert writing.rights == rights_of([Role.GROWER]) - {Right.SEE_PRIVATE}
    assert api_tokens.find_token(session, read, DAY + dt.timedelta(days=1)) is None


@pytest.mark.parametrize("ends_on", [DAY - dt.timedelta(days=1), DAY + dt.timedelta(days=367)])
def test_a_token_ends_within_a_year(session: Session, salma: Account, ends_on: dt.date) -> None:
    with pytest.raises(Invalid, match="between today and a year"):
        api_tokens.make_token(
            session, "Salma", account=salma, name="Sheet", scope=Scope.READ, ends_on=ends_on, today=DAY
        )


def test_a_closed_account_is_out_at_once_with_its_tokens_and_links(session: Session, salma: Account) -> None:
    browser = sign_in.begin(session, account=salma, device="", at=NOON)
    _row, token = api_tokens.make_token(
        session, "Salma", account=salma, name="Sheet", scope=Scope.WRITE, ends_on=DAY, today=DAY
    )
    link = people.new_link(session, "Ana Seabra", account=salma, at=NOON)
    people.close(session, "Ana Seabra", account=salma, at=NOON)
    session.flush()

    assert sign_in.find(session, browser, NOON) is None
    assert api_tokens.find_token(session, token, DAY) is None
    assert people.account_of_link(session, link, NOON) is None
    with pytest.raises(Invalid):
        enter(session)
    people.reopen(session, "Ana Seabra", account=salma)
    session.flush()
    assert enter(session) is salma
    assert sign_in.find(session, browser, NOON) is None  # what was ended stays ended


def test_somebody_is_always_left_who_looks_after_accounts(session: Session) -> None:
    only = session.scalars(select(Account)).one()  # the account that the tests are signed in with
    with pytest.raises(Conflict, match="only one who looks after accounts"):
        people.close(session, "Ana Seabra", account=only, at=NOON)
    with pytest.raises(Conflict, match="only one who looks after accounts"):
        people.change_account(
            session, "Ana Seabra", account=only, name=only.name, email=only.email, roles=[Role.VIEWER],
            nursery_id=None,
        )  # fmt: skip


def test_what_is_typed_of_an_account_is_refused_with_its_reason(session: Session, salma: Account) -> None:
    with pytest.raises(Invalid) as refused:
        people.invite(session, "Ana Seabra", name="Salma", email="no address", roles=[], at=NOON)

    assert set(refused.value.errors) == {"name", "email", "roles"}
    with pytest.raises(Invalid, match="e-mail address already"):
        people.invite(
            session, "Ana Seabra", name="Other", email="salma@river.example", roles=[Role.VIEWER], at=NOON
        )


def test_no_password_token_or_secret_is_in_the_record_of_changes(session: Session, salma: Account) -> None:
    secret = second_factor.new_secret()
    salma.totp_secret = secret
    token = sign_in.begin(session, account=salma, device="", at=NOON)
    _row, program = api_tokens.make_token(
        session, "Salma", account=salma, name="Sheet", scope=Scope.READ, ends_on=DAY, today=DAY
    )
    session.flush()
    told = " ".join(str(details) for details in session.scalars(select(Change.details)))

    assert "Sheet" in told
    for hidden in (PASSWORD, salma.password_hash, secret, token, program):
        assert hidden not in told
