"""The form of an account."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from wtforms import EmailField, SelectChoice, SelectField, SelectMultipleField, StringField
from wtforms.widgets import CheckboxInput, ListWidget

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Account, Nursery
from nursery.models.accounts import Role
from nursery.services.accounts.rights import ROLE_HINTS, ROLE_NAMES
from nursery.web.fields import Needed
from nursery.web.forms import RefusableForm
from nursery.web.session import db


class AccountForm(RefusableForm):
    """Name, address, roles, and the one nursery if there is such a bound."""

    name = StringField(_l("Name"), [Needed()], description=_l("As the histories are to give it."))
    email = EmailField(_l("E-mail address"), [Needed()], description=_l("To sign in with; nothing is sent to it."))
    roles = SelectMultipleField(
        _l("Roles"), option_widget=CheckboxInput(), widget=ListWidget(prefix_label=False), validate_choice=True
    )
    nursery_id = SelectField(
        _l("May change the records of"),
        coerce=int,
        description=_l("Seed, sites and plans belong to all nurseries together."),
    )

    def __init__(self, *given: Any, account: Account | None = None, **options: Any) -> None:
        kept = (
            {
                "name": account.name, "email": account.email, "nursery_id": account.nursery_id or 0,
                "roles": [row.role.value for row in account.roles],
            }
            if account is not None
            else {}
        )  # fmt: skip
        super().__init__(*given, data=kept, **options)
        self.roles.choices = [SelectChoice(role.value, f"{ROLE_NAMES[role]}: {ROLE_HINTS[role]}") for role in Role]
        nurseries = db().execute(
            select(Nursery.id, Nursery.name).where(Nursery.archived_at.is_(None)).order_by(Nursery.name)
        )
        self.nursery_id.choices = [
            SelectChoice(0, _("all nurseries")),
            *(SelectChoice(row_id, name) for row_id, name in nurseries),
        ]

    def values(self) -> dict[str, Any]:
        """What the service takes."""
        return {
            "name": self.name.data or "", "email": self.email.data or "",
            "roles": [Role(word) for word in self.roles.data or ()], "nursery_id": self.nursery_id.data or None,
        }  # fmt: skip
