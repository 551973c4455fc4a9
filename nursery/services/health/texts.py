"""Free words that the services of plant health take."""

from __future__ import annotations

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _

MOST = 2_000


def words(field: str, text: str, *, missing: str = "") -> str:
    """What a person wrote, trimmed; ``missing`` is the refusal where nothing was."""
    text = text.replace("\0", "").strip()
    if missing and not text:
        raise Invalid({field: missing})
    if len(text) > MOST:
        raise Invalid(
            {field: _("The text is longer than %(most)s characters. Shorten it.", most=format_number(MOST))}
        )
    return text
