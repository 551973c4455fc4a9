"""The own account."""

from __future__ import annotations

import datetime as dt

from flask import Blueprint, flash, g, redirect, render_template, request, session, url_for
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Account
from nursery.models.accounts import Scope
from nursery.services.accounts import api_tokens, people, second_factor, sign_in
from nursery.web.account.forms import SCOPES, ApiTokenForm, ChangePasswordForm, SecondFactorForm
from nursery.web.session import actor, db, me, now, today

bp = Blueprint("account", __name__)

#: A secret is offered for this browser until it is proven.
_OFFERED = "offered_secret"
#: How long a token is good unless another day is given.
USUAL_DAYS = 90


@bp.get("/account")
def page() -> str:
    """Who I am here, and what is open in my name."""
    account = _mine()
    return render_template(
        "account/page.html", section="", account=account, browsers=sign_in.open_sign_ins(db(), account.id, now()),
        tokens=api_tokens.tokens_of(db(), account.id, today()), scopes=SCOPES, own_id=g.get("sign_in_id"),
    )  # fmt: skip


@bp.route("/account/password", methods=["GET", "POST"])
def password() -> ResponseReturnValue:
    """Another password; all browsers are signed out by it."""
    form = ChangePasswordForm(request.form)
    if request.method == "POST" and form.validate():
        try:
            people.change_password(db(), account=_mine(), old=form.old.data, new=form.password.data, at=now())
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            flash(_("Your password is changed. Sign in with it."), "ok")
            return redirect(url_for("sign_in.page"), 303)
    status = 422 if request.method == "POST" else 200
    return render_template("account/password.html", section="", form=form, account=_mine()), status


@bp.route("/account/second-factor", methods=["GET", "POST"])
def factor() -> ResponseReturnValue:
    """Switch the second factor on: a picture to read, and a code to prove it."""
    account = _mine()
    secret = session.setdefault(_OFFERED, second_factor.new_secret())
    form = SecondFactorForm(request.form)
    if request.method == "POST" and form.validate():
        try:
            second_factor.switch_on(db(), actor(), account=account, secret=secret, code=form.code.data, at=now())
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            session.pop(_OFFERED)
            flash(_("From now on signing in needs a code."), "ok")
            return redirect(url_for("account.page"), 303)
    status = 422 if request.method == "POST" else 200
    picture = _picture(second_factor.address(account, secret))
    return render_template("account/factor.html", section="", form=form, secret=secret, picture=picture), status


@bp.post("/account/second-factor/off")
def factor_off() -> ResponseReturnValue:
    """Password only, from now on."""
    second_factor.switch_off(db(), actor(), account=_mine())
    flash(_("Signing in needs the password only."), "ok")
    return redirect(url_for("account.page"), 303)


@bp.post("/account/browsers/<int(max=2147483647):sign_in_id>/end")
def end_browser(sign_in_id: int) -> ResponseReturnValue:
    """Sign out there."""
    sign_in.end(db(), actor(), account=_mine(), at=now(), sign_in_id=sign_in_id)
    flash(_("That browser is signed out."), "ok")
    return redirect(url_for("account.page"), 303)


@bp.route("/account/tokens/new", methods=["GET", "POST"])
def new_token() -> ResponseReturnValue:
    """A token; its secret stands on the answer's page and nowhere else."""
    if request.method != "POST":
        form = ApiTokenForm(data={"ends_on": today() + dt.timedelta(days=USUAL_DAYS), "scope": Scope.READ.value})
        return render_template("account/token.html", section="", form=form)
    form = ApiTokenForm(request.form)
    if form.validate() and form.ends_on.data is not None:
        try:
            row, secret = api_tokens.make_token(
                db(), actor(), account=_mine(), name=form.name.data, scope=Scope(form.scope.data),
                ends_on=form.ends_on.data, today=today(),
            )  # fmt: skip
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            return render_template("account/token_made.html", section="", token=row, secret=secret), 201
    return render_template("account/token.html", section="", form=form), 422


@bp.post("/account/tokens/<int(max=2147483647):token_id>/end")
def end_token(token_id: int) -> ResponseReturnValue:
    """The token is no longer good."""
    api_tokens.end_token(db(), actor(), account=_mine(), token_id=token_id, at=now())
    flash(_("The token has ended."), "ok")
    return redirect(url_for("account.page"), 303)


def _mine() -> Account:
    return people.get_account(db(), me().account_id)


def _picture(address: str) -> Markup:
    import segno  # noqa: PLC0415 -- only for this page

    drawn = segno.make(address, error="m").svg_inline(
        scale=5, border=2, svgclass="qr", lineclass=None, omitsize=False
    )
    return Markup(drawn)  # noqa: S704 -- drawn here from our own address
