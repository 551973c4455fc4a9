"""What is typed to come in."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Mapping

from wtforms import EmailField, Form, PasswordField, StringField

from nursery.i18n import lazy as _l
from nursery.services.accounts.passwords import LENGTH
from nursery.web.fields import Needed


class TokenForm(Form):
    """A small form whose refusals come from a service."""

    def refuse(self, errors: Mapping[str, str]) -> None:
        """Put a service's refusals at their fields."""
        for name, message in errors.items():
            field = self._fields.get(name)
            if field is None:
                self.form_errors.append(message)
            else:
                field.errors = [*field.errors, message]


class SignInForm(TokenForm):
    """E-mail address and password."""

    email = EmailField(_l("E-mail address"), [Needed()])
    password = PasswordField(_l("Password"), [Needed()])


class CodeForm(TokenForm):
    """The second factor."""

    code = StringField(
        _l("Code"), [Needed()], description=_l("Six digits that the app on your phone shows at this moment.")
    )


class NewPasswordForm(TokenForm):
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
