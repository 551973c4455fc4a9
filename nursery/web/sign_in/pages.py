"""Sign in, the second factor, sign out, and setting a password by a one-time link."""

from __future__ import annotations

import datetime as dt

from flask import (
    Blueprint,
    abort,
    current_app,
    flash,
    g,
    make_response,
    redirect,
    render_template,
    request,
    session,
    url_for,
)
from flask.typing import ResponseReturnValue
from werkzeug import Response

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Account
from nursery.services.accounts import people, sign_in
from nursery.services.accounts.demo import demo_accounts
from nursery.services.accounts.news import news_of
from nursery.web import access
from nursery.web.kept import carried_form, kept_form
from nursery.web.paths import asked, place
from nursery.web.security import cookie_guards
from nursery.web.session import db, now
from nursery.web.sign_in.forms import CodeForm, NewPasswordForm, SignInForm

bp = Blueprint("sign_in", __name__)

#: Between password and code no more than this may pass.
HALF_WAY = dt.timedelta(minutes=5)
_HALF = "half_signed_in"


@bp.route("/sign-in", methods=["GET", "POST"])
def page() -> ResponseReturnValue:
    """E-mail address and password."""
    if request.method != "POST":
        return _page(SignInForm())
    form = SignInForm(request.form)
    if not form.validate():
        return _page(form), 422
    try:
        account = sign_in.check_password(
            db(), email=form.email.data, password=form.password.data, address=_address(), at=now()
        )
    except Invalid as refused:
        return _refused(form, refused, _page)
    if account.totp_secret:
        session[_HALF] = [account.id, now().isoformat()]
        if carried_form():  # what came along cannot follow a redirection
            return _code_page(CodeForm())
        return redirect(url_for("sign_in.code", next=request.args.get("next")), 303)
    return _let_in(account)


@bp.route("/sign-in/code", methods=["GET", "POST"])
def code() -> ResponseReturnValue:
    """The second factor, soon after the password."""
    account = _half_signed_in()
    if account is None:
        flash(_("That took too long. Begin again."), "info")
        if request.method == "POST" and carried_form():
            return _page(SignInForm()), 422
        return redirect(url_for("sign_in.page", next=request.args.get("next")), 303)
    form = CodeForm(request.form)
    if request.method != "POST" or not form.validate():
        return _code_page(form), 422 if request.method == "POST" else 200
    try:
        sign_in.check_code(db(), account=account, code=form.code.data, address=_address(), at=now())
    except Invalid as refused:
        return _refused(form, refused, _code_page)
    return _let_in(account)


@bp.post("/sign-out")
def out() -> ResponseReturnValue:
    """Sign this browser out."""
    token = request.cookies.get(access.cookie_name(), "")
    found = sign_in.find(db(), token, now()) if token else None
    if found is not None:
        who, row = found
        account = people.get_account(db(), who.account_id)
        sign_in.end(db(), who.name, account=account, at=now(), sign_in_id=row.id)
    session.clear()
    answer = redirect(url_for("sign_in.page"), 303)
    answer.delete_cookie(access.cookie_name(), **cookie_guards())
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer


@bp.route("/welcome/<secret>", methods=["GET", "POST"])
def welcome(secret: str) -> ResponseReturnValue:
    """Set a password by a one-time link, and come in."""
    account = people.account_of_link(db(), secret, now())
    if account is None:
        raise NotFound(_("This link was used already, or is too old. Ask for a new one."))
    form = NewPasswordForm(request.form)
    if request.method == "POST" and form.validate():
        try:
            people.use_link(db(), secret=secret, password=form.password.data, at=now())
        except Invalid as refused:
            db().rollback()
            form.refuse(refused.errors)
        else:
            flash(_("Your password is set. Sign in with it."), "ok")
            return redirect(url_for("sign_in.page"), 303)
    status = 422 if request.method == "POST" else 200
    return render_template("sign_in/welcome.html", form=form, account=account), status


@bp.post("/demo/act-as/<int(max=2147483647):account_id>")
def act_as(account_id: int) -> ResponseReturnValue:
    """In the demo only: look at it as somebody else."""
    if not current_app.config["NURSERY"].demo:
        abort(404)
    return _let_in(people.get_account(db(), account_id))


def ask_again() -> ResponseReturnValue:
    """For somebody who sent a form but is signed out by now: what was typed waits on the page."""
    form, kept, back = SignInForm(), kept_form(), request.args.get("next")
    comes_in = request.blueprint == bp.name
    if comes_in:
        form.refuse({"password": _("This page was open for too long. Type both once more.")})
    elif kept is None and request.url_rule is not None and "GET" in (request.url_rule.methods or ()):
        back = request.path
    page = render_template(
        "sign_in/page.html", form=form, accounts=(), has_accounts=True, kept=kept,
        is_lost=kept is None and not comes_in, action=url_for("sign_in.page", next=back),
    )  # fmt: skip
    return page, 401


def _page(form: SignInForm) -> str:
    demo = current_app.config["NURSERY"].demo
    return render_template(
        "sign_in/page.html", form=form, accounts=demo_accounts(db()) if demo else (),
        has_accounts=demo or people.has_accounts(db()), kept=carried_form(), is_lost=False,
        action=url_for("sign_in.page", next=request.args.get("next")),
    )  # fmt: skip


def _code_page(form: CodeForm) -> str:
    action = url_for("sign_in.code", next=request.args.get("next"))
    return render_template("sign_in/code.html", form=form, kept=carried_form(), action=action)


def _refused(form: SignInForm | CodeForm, refused: Invalid, draw: object) -> ResponseReturnValue:
    """The form once more; the wrong try counts though the answer is a refusal."""
    kind = "held" if isinstance(refused, sign_in.Wait) else "refused"
    current_app.logger.warning("sign-in %s at %s, from %s", kind, place(), _address())
    db().commit()
    form.refuse(refused.errors)
    page = draw(form) if callable(draw) else ""
    return page, 429 if isinstance(refused, sign_in.Wait) else 422


def _let_in(account: Account) -> Response:
    news = news_of(db(), account)
    token = sign_in.begin(db(), account=account, device=request.user_agent.string, at=now())
    session.clear()  # nothing that was set before signing in is kept
    for told in news:
        flash(told, "info")
    kept = carried_form()
    if kept is not None and (found := sign_in.find(db(), token, now())) is not None:
        g.acting, _row = found
        answer = make_response(render_template("sign_in/send_again.html", kept=kept))
    else:
        answer = make_response(redirect(asked(url_for("season.home")), 303))
    longest = int(sign_in.LONGEST.total_seconds())
    answer.set_cookie(access.cookie_name(), token, max_age=longest, **cookie_guards())
    return answer


def _half_signed_in() -> Account | None:
    found = session.get(_HALF)
    if not found or now() - dt.datetime.fromisoformat(found[1]) > HALF_WAY:
        return None
    account = db().get(Account, found[0])
    return account if account is not None and account.archived_at is None and account.totp_secret else None


def _address() -> str:
    return request.remote_addr or ""
