"""Looking after accounts."""

from __future__ import annotations

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models import Account
from nursery.services.accounts import api_tokens, people, second_factor, sign_in
from nursery.web.account.forms import SCOPES
from nursery.web.accounts.forms import AccountForm
from nursery.web.links import whole_address
from nursery.web.session import actor, db, now, today

bp = Blueprint("accounts", __name__)
AT = "/accounts/<int(max=2147483647):account_id>"


@bp.get("/accounts")
def list_page() -> str:
    """Everybody who may sign in, and who no longer may."""
    return render_template("accounts/list.html", section="settings", accounts=people.all_accounts(db()))


@bp.route("/accounts/new", methods=["GET", "POST"])
def new() -> ResponseReturnValue:
    """Invite somebody."""
    form = AccountForm(request.form)
    if request.method == "POST" and form.validate():
        try:
            account, secret = people.invite(db(), actor(), **form.values(), at=now())
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            return _link_page(account, secret)
    return _form_page(form, _("Invite somebody"))


@bp.get(AT)
def detail(account_id: int) -> str:
    """One account."""
    account = people.get_account(db(), account_id)
    return render_template(
        "accounts/detail.html", section="settings", account=account, scopes=SCOPES,
        browsers=sign_in.open_sign_ins(db(), account.id, now()),
        tokens=api_tokens.tokens_of(db(), account.id, today()),
    )  # fmt: skip


@bp.route(f"{AT}/edit", methods=["GET", "POST"])
def edit(account_id: int) -> ResponseReturnValue:
    """Another name, address, role or nursery."""
    account = people.get_account(db(), account_id)
    # An empty form would say that every role was taken away.
    form = AccountForm(request.form or None, account=account)
    if request.method == "POST" and form.validate():
        try:
            people.change_account(db(), actor(), account=account, **form.values())
        except (Invalid, Conflict) as refused:
            db().rollback()
            form.refuse(refused.errors if isinstance(refused, Invalid) else {"roles": str(refused)})
        else:
            flash(_("“%(name)s” was saved.", name=account.name), "ok")
            return redirect(url_for("accounts.detail", account_id=account_id), 303)
    return _form_page(form, _("Change %(name)s", name=people.get_account(db(), account_id).name))


@bp.post(f"{AT}/link")
def link(account_id: int) -> ResponseReturnValue:
    """A new one-time link; older ones are good no longer."""
    account = people.get_account(db(), account_id)
    return _link_page(account, people.new_link(db(), actor(), account=account, at=now()))


@bp.post(f"{AT}/close")
def close(account_id: int) -> ResponseReturnValue:
    """The account may no longer sign in."""
    account = people.get_account(db(), account_id)
    people.close(db(), actor(), account=account, at=now())
    return _done(
        account, _("The account of %(name)s is closed. What it did stays in the histories.", name=account.name)
    )


@bp.post(f"{AT}/reopen")
def reopen(account_id: int) -> ResponseReturnValue:
    """The account may sign in again."""
    account = people.get_account(db(), account_id)
    people.reopen(db(), actor(), account=account)
    return _done(account, _("The account of %(name)s is open again.", name=account.name))


@bp.post(f"{AT}/sign-out")
def sign_out(account_id: int) -> ResponseReturnValue:
    """Sign somebody out everywhere, as when a phone is lost."""
    account = people.get_account(db(), account_id)
    sign_in.end(db(), actor(), account=account, at=now())
    return _done(account, _("%(name)s is signed out everywhere.", name=account.name))


@bp.post(f"{AT}/second-factor/off")
def factor_off(account_id: int) -> ResponseReturnValue:
    """For somebody who lost the device."""
    account = people.get_account(db(), account_id)
    second_factor.switch_off(db(), actor(), account=account)
    return _done(account, _("%(name)s signs in with the password only.", name=account.name))


@bp.post(f"{AT}/tokens/<int(max=2147483647):token_id>/end")
def end_token(account_id: int, token_id: int) -> ResponseReturnValue:
    """A token of this account is no longer good."""
    account = people.get_account(db(), account_id)
    api_tokens.end_token(db(), actor(), account=account, token_id=token_id, at=now())
    return _done(account, _("The token has ended."))


def _form_page(form: AccountForm, title: str) -> ResponseReturnValue:
    status = 422 if request.method == "POST" else 200
    return render_template("accounts/form.html", section="settings", form=form, title=title), status


def _link_page(account: Account, secret: str) -> ResponseReturnValue:
    address = whole_address("sign_in.welcome", secret=secret)
    page = render_template(
        "accounts/link.html", section="settings", account=account, address=address, days=people.LINK_KEEPS.days
    )
    return page, 201


def _done(account: Account, told: str) -> ResponseReturnValue:
    flash(told, "ok")
    return redirect(url_for("accounts.detail", account_id=account.id), 303)
