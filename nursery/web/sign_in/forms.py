"""What is typed to come in."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from wtforms import EmailField, PasswordField, StringField

from nursery.i18n import lazy as _l
from nursery.services.accounts.passwords import LENGTH
from nursery.web.fields import Needed
from nursery.web.forms import RefusableForm


class SignInForm(RefusableForm):
    """E-mail address and password."""

    email = EmailField(_l("E-mail address"), [Needed()])
    password = PasswordField(_l("Password"), [Needed()])


class CodeForm(RefusableForm):
    """The second factor."""

    code = StringField(
        _l("Code"), [Needed()], description=_l("Six digits that the app on your phone shows at this moment.")
    )


class NewPasswordForm(RefusableForm):
    """A password chosen by the person herself."""

    password = PasswordField(
        _l("New password"),
        [Needed()],
        description=_l(
            "At least %(least)s characters. Three or four words that have nothing to do with each other are easy"
            " to keep and hard to guess; a password manager does it for you."
        ),
    )

    def __init__(self, *given: object, **options: object) -> None:
        super().__init__(*given, **options)
        self.password.description = str(self.password.description) % {"least": LENGTH}
