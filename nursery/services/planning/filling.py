"""Which seed would fill a line that is short: known populations, what they may give, and the permits for it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from nursery.i18n import format_date, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.models import Plan, PlanLine
from nursery.models.plans import LineStatus
from nursery.planning.origin.words import NeedPurpose, NeedSource, Source
from nursery.services.origin.words import SOURCE_LABELS
from nursery.services.permits.words import weight
from nursery.services.planning.promises import Promise, read_promises
from nursery.services.programme.picks import Pick

#: Codes of what holds a line that speak of no seed of the right origin.
_FROM_ELSEWHERE = {"region", "basin"}


@dataclass(frozen=True, slots=True)
class Part:
    """What one population would give; ``amount`` in mg of clean seed, or in cuttings."""

    population_id: int
    population_name: str
    amount: int
    mothers: int
    is_cuttings: bool
    #: Empty where no permit covers it; ``reason`` says why.
    permit: str
    reason: str

    @property
    def text(self) -> str:
        """Amount, population and permit."""
        told = (
            ngettext("%(num)s cutting", "%(num)s cuttings", self.amount)
            if self.is_cuttings
            else weight(self.amount)
        )
        if not self.permit:
            return _(
                "%(amount)s from population %(population)s (no permit covers it yet)",
                amount=told, population=self.population_name,
            )  # fmt: skip
        return _(
            "%(amount)s from population %(population)s under permit %(permit)s",
            amount=told, population=self.population_name, permit=self.permit,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fill:
    """The seed that would fill a line, collected by ``until``; none of it where no population is known."""

    line: PlanLine
    parts: Sequence[Part]
    until: dt.date
    #: Share 0–1 of what is missing that the known populations cannot give.
    lacking: float
    is_over: bool
    #: Sources of a site's shares of which known populations cannot give enough.
    lacking_sources: Sequence[NeedSource] = ()

    @property
    def can_be_tried(self) -> bool:
        """Whether there is seed to try."""
        return bool(self.parts) and not self.is_over

    @property
    def sentence(self) -> str:
        """What is in hand, and what would fill the line."""
        lead, until = self._lead, format_date(self.until)
        if self.is_over:
            return _("%(lead)s; the season for collecting it ended on %(day)s.", lead=lead, day=until)
        if not self.parts:
            return _(
                "%(lead)s, and no population is known that could give it: one must be found by %(day)s.",
                lead=lead, day=until,
            ) + self._of_which_sources  # fmt: skip
        *first, last = [part.text for part in self.parts]
        parts = _("%(first)s and %(last)s", first=", ".join(first), last=last) if first else last
        if self.lacking:
            return _(
                "%(lead)s; %(parts)s, collected by %(day)s, would give all but %(lacking)s of it. For the rest"
                " another population must be found.",
                lead=lead, parts=parts, day=until, lacking=format_percent(self.lacking),
            ) + self._of_which_sources  # fmt: skip
        return _("%(lead)s; %(parts)s, collected by %(day)s, would fill it.", lead=lead, parts=parts, day=until)

    @property
    def _of_which_sources(self) -> str:
        if not self.lacking_sources:
            return ""
        sources = ", ".join(str(SOURCE_LABELS[Source(source.value)]) for source in self.lacking_sources)
        told = " " + _("What lacks is to be of the source: %(sources)s.", sources=sources)
        if NeedSource.LOCAL in self.lacking_sources:
            return told
        return f"{told} " + _("Local seed would fill the number as well, but miss the share.")

    @property
    def _lead(self) -> str:
        line = self.line
        found = {(one["code"], one["text"] if one["code"] == "rule" else "") for one in line.bottleneck or ()}
        elsewhere = {("no-lot", "")} | {("rule", rule) for rule in _FROM_ELSEWHERE}
        if found and found <= elsewhere and line.mix is None:
            if line.basis["region_code"]:
                return _(
                    "No lot of this species from region %(region)s is in hand", region=line.basis["region_code"]
                )
            return _("No lot of this species from basin %(basin)s is in hand", basin=line.basis["basin"])
        return ngettext(
            "The seed in hand leaves %(num)s of %(all)s plants lacking",
            "The seed in hand leaves %(num)s of %(all)s plants lacking",
            line.shortfall, all=format_number(line.plants_to_plant),
        )  # fmt: skip


def read_fills(session: Session, plan: Plan, lines: Collection[PlanLine], *, today: dt.date) -> dict[int, Fill]:
    """What would fill each line that waits for seed, by its id; in a fixed number of queries."""
    waiting = [line for line in lines if line.status is LineStatus.COLLECT]
    promised = read_promises(session, plan, waiting, today=today)
    fills = {line_id: fill_of(promises) for line_id, promises in promised.items()}
    return {line_id: fill for line_id, fill in fills.items() if fill is not None}


def fill_of(promised: Sequence[Promise]) -> Fill | None:
    """All needs of one line for plants that lack together, for they share its season; None where it has none."""
    promises = [each for each in promised if each.need.purpose is NeedPurpose.PLANTS]
    if not promises:
        return None
    wanted, lacking = sum(each.sheet.wanted for each in promises), sum(each.lacking for each in promises)
    return Fill(
        promises[0].line,
        [part for each in promises for part in parts_of(each)],
        max(each.need.closes_on for each in promises),
        lacking / wanted if wanted else 1.0,
        all(each.given is None for each in promises),
        [each.need.source for each in promises if each.lacking and each.need.source is not NeedSource.REGION],
    )


def parts_of(promise: Promise) -> list[Part]:
    """What populations give, in clean seed; a visit for the mothers alone is none."""
    sheet, picks = promise.sheet, promise.given.picks if promise.given else []
    clean = 1.0 if sheet.is_cuttings else (sheet.need.grams or 0.0) * 1000 / sheet.wanted if sheet.wanted else 0.0
    by_place: dict[tuple[int, str], Part] = {}
    for pick in picks:
        for amount, permit in ((pick.covered, pick.permit), (pick.uncovered, None)):
            if (pieces := round(amount * clean)) < 1:
                continue
            number = permit.number if permit is not None else ""
            key = pick.stand.population_id, number
            one = by_place.get(key)
            by_place[key] = Part(
                pick.stand.population_id, _named(pick), pieces + (one.amount if one else 0),
                pick.mothers + (one.mothers if one else 0), sheet.is_cuttings, number,
                "" if permit is not None else pick.reason,
            )  # fmt: skip
    return list(by_place.values())


def _named(pick: Pick) -> str:
    """A population's name, with its source where that is asked for."""
    source, name = pick.sheet.need.source, pick.stand.name
    if source is NeedSource.REGION:
        return name
    return _("%(name)s (%(source)s)", name=name, source=str(SOURCE_LABELS[Source(source.value)]))
