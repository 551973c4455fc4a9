"""Fields that name another record: typed by its code with suggestions, or chosen from a short list."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

import difflib
from collections.abc import Sequence
from typing import Any

from sqlalchemy import func, or_, select
from wtforms import Field

from nursery.i18n import gettext as _
from nursery.models.base import Record
from nursery.services.acting import elsewhere, is_bound
from nursery.web.fields import ListInput, Needed, SuggestingInput, TypedField
from nursery.web.session import db

#: A longer list of suggestions helps nobody and weighs on a phone.
SUGGESTED = 500


class RecordField(TypedField):
    """A record by its code (or its whole name); ``data`` is its id."""

    widget = SuggestingInput()

    def __init__(
        self,
        label: Any = None,
        *,
        model: type[Any],
        described: Any = None,
        takes_archived: bool = False,
        **options: Any,
    ) -> None:
        super().__init__(label, **options)
        #: Where what is told of is over, and a record that is used up is the normal case.
        self.takes_archived = takes_archived
        self.model = model
        #: What stands beside the code in the suggestions, an SQL expression.
        self.described = getattr(model, "name", model.code) if described is None else described
        self.kept: int | None = None

    def process_data(self, value: Any) -> None:
        """Remember the record that is named already: it may stay even when archived."""
        super().process_data(value)
        self.kept = value

    def suggestions(self) -> Sequence[tuple[str, str]]:
        """Codes of active records with what they stand for."""
        query = select(self.model.code, self.described).where(self.model.archived_at.is_(None))
        rows = db().execute(query.order_by(self.model.code).limit(SUGGESTED))
        return [(code, "" if told == code else str(told or "")) for code, told in rows]

    def parse(self, text: str) -> Any:
        """The record of that code; near codes are offered when there is none."""
        found = db().scalars(self._query(text)).all()
        by_code = [row for row in found if row.code.casefold() == text.casefold()]
        named = by_code or found
        if len(named) > 1:
            codes = ", ".join(row.code for row in named)
            raise ValueError(
                _("“%(text)s” names several records: %(codes)s. Type one code.", text=text, codes=codes)
            )
        if not named:
            raise ValueError(self._unknown(text))
        if named[0].archived_at is not None and named[0].id != self.kept and not self.takes_archived:
            raise ValueError(_("“%(text)s” is archived. Bring it back first, or name another.", text=text))
        if named[0].id != self.kept and (told := elsewhere(db(), named[0])):
            raise ValueError(told)
        return named[0].id

    def _query(self, text: str) -> Any:
        wanted = [func.lower(self.model.code) == text.lower()]
        if hasattr(self.model, "name"):
            wanted += [self.model.name == text, func.lower(self.model.name) == text.lower()]
        return select(self.model).where(or_(*wanted)).limit(20)

    def _unknown(self, text: str) -> str:
        codes = db().scalars(select(self.model.code).where(self.model.archived_at.is_(None)).limit(5000)).all()
        near = difflib.get_close_matches(text.upper(), codes, n=3, cutoff=0.5)
        if near:
            return _("There is no “%(text)s”. Did you mean %(near)s?", text=text, near=", ".join(near))
        return _(
            "There is no “%(text)s”. Type a code from its list, or write the record down there first.", text=text
        )

    def write(self, value: Any) -> str:
        """Its code."""
        row = db().get(self.model, value)
        return str(row.code) if row else ""


class RecordSelect(Field):
    """A record from a short list of names; ``data`` is its id or None."""

    widget = ListInput()
    understood = ""

    def __init__(self, label: Any = None, *, model: type[Record], needed: bool = False, **options: Any) -> None:
        self.data: int | None = None
        self.offered: list[tuple[str, str]] = []
        super().__init__(label, [Needed()] if needed else [], **options)
        self.model = model

    def process_data(self, value: Any) -> None:
        """Offer active records that the account may use, and the one named already."""
        self.data = value
        self.offered = [("", "–"), *self.within_reach(self.active(value))]

    def active(self, value: Any) -> Sequence[tuple[str, str]]:
        """Active records, and the one named already."""
        model: Any = self.model
        query = select(model.id, model.name).where(or_(model.archived_at.is_(None), model.id == value))
        return [(str(key), name) for key, name in db().execute(query.order_by(model.name))]

    def within_reach(self, offered: Sequence[tuple[str, str]]) -> Sequence[tuple[str, str]]:
        """Without what is another nursery's, for an account that may change one nursery's records only."""
        if not is_bound(db()):
            return offered
        return [one for one in offered if not elsewhere(db(), db().get_one(self.model, int(one[0])))]

    def options(self) -> Sequence[tuple[str, str]]:
        """What can be chosen."""
        return self.offered

    def chosen(self) -> str:
        """The record now chosen."""
        return "" if self.data is None else str(self.data)

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The chosen record's id."""
        value = valuelist[0] if valuelist else ""
        if value not in dict(self.offered):
            raise ValueError(_("This choice is no longer in the list. Choose again."))
        self.data = int(value) if value else None

    def show(self, value: Any) -> str:
        """Its name."""
        row: Any = db().get(self.model, value)
        return str(row.name) if row else ""
