"""Which seed would bring the shares that a line's site asks for, where its plants are enough without."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from nursery.i18n import format_date, format_percent
from nursery.i18n import gettext as _
from nursery.planning.origin.words import NeedPurpose
from nursery.services.need_words import SOURCE_LABELS
from nursery.services.planning.filling import Part, parts_of
from nursery.services.planning.promises import Promise


@dataclass(frozen=True, slots=True)
class ShareFill:
    """The seed of one source that would bring its share; none of it where no population is known."""

    need_id: int
    source: str
    given: float
    asked: float
    parts: Sequence[Part]
    until: dt.date
    #: Share 0–1 of it that the known populations cannot give.
    lacking: float
    is_over: bool

    @property
    def sentence(self) -> str:
        """What the share lacks, and what would bring it."""
        lead = _(
            "%(source)s: %(given)s of the plants, where the site’s strategy asks for %(asked)s",
            source=self.source, given=format_percent(self.given), asked=format_percent(self.asked),
        )  # fmt: skip
        until = format_date(self.until)
        if self.is_over:
            return _("%(lead)s; the season for collecting it ended on %(day)s.", lead=lead, day=until)
        if not self.parts:
            return _(
                "%(lead)s, and no population is known that could give it: one must be found by %(day)s.",
                lead=lead, day=until,
            )  # fmt: skip
        *first, last = [part.text for part in self.parts]
        parts = _("%(first)s and %(last)s", first=", ".join(first), last=last) if first else last
        if self.lacking:
            return _(
                "%(lead)s; %(parts)s, collected by %(day)s, would give all but %(lacking)s of what lacks. For the"
                " rest another population must be found.",
                lead=lead, parts=parts, day=until, lacking=format_percent(self.lacking),
            )  # fmt: skip
        return _("%(lead)s; %(parts)s, collected by %(day)s, would bring it.", lead=lead, parts=parts, day=until)


def share_fills_of(promised: Sequence[Promise]) -> list[ShareFill]:
    """What would bring the shares of one line that has its plants of other sources, source by source."""
    return [_fill(each) for each in promised if each.need.purpose is NeedPurpose.SHARES]


def _fill(promise: Promise) -> ShareFill:
    need, mix = promise.need, promise.line.mix or {}
    source, wanted = need.source.value, promise.sheet.wanted
    return ShareFill(
        need.id,
        str(SOURCE_LABELS[need.source]),
        mix.get(source) or 0.0,
        ((mix.get("asked") or {}).get("shares") or {}).get(source, 0.0),
        parts_of(promise),
        need.closes_on,
        promise.lacking / wanted if wanted else 1.0,
        promise.given is None,
    )
