"""Forms of the own account."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from wtforms import PasswordField, RadioField, SelectChoice, StringField

from nursery.i18n import lazy as _l
from nursery.models.accounts import Scope
from nursery.web.fields import DayField, Needed
from nursery.web.forms import RefusableForm
from nursery.web.sign_in.forms import NewPasswordForm

SCOPES = {
    Scope.READ: _l("Read only"),
    Scope.WRITE: _l("Read, and write what your own account may write"),
}


class ChangePasswordForm(NewPasswordForm):
    """Another password."""

    old = PasswordField(_l("Password of today"), [Needed()])


class SecondFactorForm(RefusableForm):
    """The first code proves that the device has the secret."""

    code = StringField(
        _l("Code"), [Needed()], description=_l("Six digits that the app shows after reading the picture.")
    )


class ApiTokenForm(RefusableForm):
    """A token for a program."""

    name = StringField(
        _l("What it is for"), [Needed()], description=_l("For example: sensor sheet of the shade house.")
    )
    scope = RadioField(
        _l("What it may do"),
        choices=[SelectChoice(scope.value, label) for scope, label in SCOPES.items()],
        default=Scope.READ,
    )
    ends_on = DayField(_l("Last day"), needed=True)
