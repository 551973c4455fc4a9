"""From the code or name in a cell to the record it means."""

from __future__ import annotations

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.importing.book import Book, Entry, fold


def refer(book: Book, refers_to: str, text: str, *, takes_archived: bool = False) -> Entry:
    """The record a cell names; refuses unknown and ambiguous ones, and archived ones unless they are taken too,
    with near names and the remedy."""
    register = book.registers[refers_to]
    found = register.by_name.get(fold(text), [])
    if len(found) == 1:
        if found[0].archived and not takes_archived:
            raise _refused(
                _("“%(text)s” is archived. Bring it back first, or name another.", text=text), refers_to
            )
        return found[0]
    if found:
        open_ones = [entry for entry in found if not entry.archived]
        if len(open_ones) == 1:
            return open_ones[0]
        raise _refused(
            _("“%(text)s” means more than one container type. Write “nursery / name”.", text=text), refers_to
        )
    near = register.near(text)
    if near:
        raise _refused(
            _("There is no “%(text)s” on record. Did you mean %(near)s?", text=text, near=", ".join(near)),
            refers_to,
        )
    raise _refused(
        _("There is no “%(text)s” on record. Correct it, or write that record down first.", text=text), refers_to
    )


def _refused(message: str, field: str) -> Invalid:
    return Invalid({field: message})
