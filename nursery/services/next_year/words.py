"""The look back in sentences."""

from __future__ import annotations

from nursery.i18n import format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.services.next_year.changes import SpeciesChange
from nursery.services.next_year.errors import Rate, RateError
from nursery.services.next_year.lines import SURVIVAL
from nursery.services.next_year.reading import NextYear

#: A range is called narrower or wider from this part of it on. Own convention, no source.
NOTICED = 0.1


def rate_text(rate: Rate) -> str:
    """A rate with its range, where it has one."""
    if rate.low is None or rate.high is None:
        return format_percent(rate.mean)
    return _(
        "%(mean)s (%(low)s to %(high)s)", mean=format_percent(rate.mean), low=format_percent(rate.low),
        high=format_percent(rate.high),
    )  # fmt: skip


def seen_text(error: RateError) -> str:
    """What was counted, and how often."""
    seen = error.seen
    times = ngettext("looked at once", "looked at %(num)s times", seen.times)
    return _(
        "%(successes)s of %(trials)s, %(times)s", successes=format_number(seen.successes),
        trials=format_number(seen.trials), times=times,
    )  # fmt: skip


def plants_text(error: RateError) -> str:
    """What the error cost, or gave."""
    plants = abs(error.plants)
    if not plants:
        return _("none: sown by the seed’s own test") if error.by_test else _("none")
    if error.rate in SURVIVAL:
        if error.plants < 0:
            return ngettext("would be %(num)s plant fewer alive", "would be %(num)s plants fewer alive", plants)
        return ngettext("would be %(num)s plant more alive", "would be %(num)s plants more alive", plants)
    if error.plants < 0:
        return ngettext("%(num)s plant fewer", "%(num)s plants fewer", plants)
    return ngettext("%(num)s plant more", "%(num)s plants more", plants)


def headline(found: NextYear) -> str:
    """The most expensive error in one sentence; empty where nothing was seen."""
    if not found.errors:
        return ""
    # Survival is seen on plants of earlier seasons: it has cost this one nothing yet.
    own = [one for one in found.errors if one.rate not in SURVIVAL]
    if not own:
        return _("Of the nursery’s own rates nothing was seen; what is known is of plants planted before.")
    worst = min(own, key=lambda one: one.plants)
    if worst.plants >= 0:
        return _("No rate cost plants: all that was seen was as good as the plan reckoned, or better.")
    return _(
        "What cost most: %(rate)s of %(species)s was %(seen)s where the plan reckoned with %(planned)s. Of"
        " %(all)s plants it expected that alone took %(plants)s.",
        rate=worst.label.lower(), species=worst.species_name, seen=format_percent(worst.seen.share),
        planned=format_percent(worst.planned.mean), all=format_number(worst.of_plants),
        plants=format_number(-worst.plants),
    )  # fmt: skip


def change_text(change: SpeciesChange) -> str:
    """What the next plan will do differently for a species."""
    before, after = change.before, change.after
    parts = [
        *([_trays(before.trays, after.trays)] if before.trays != after.trays else []),
        *([_seeds(change.part, before.seeds, after.seeds)] if before.seeds != after.seeds else []),
        *([_per_cell(change)] if before.seeds_per_cell != after.seeds_per_cell else []),
    ]
    ready = ngettext("For the same %(num)s ready plant", "For the same %(num)s ready plants", before.ready)
    if before.ready != after.ready:
        ready = _(
            "For the same targets, %(after)s ready plants instead of %(before)s", after=format_number(after.ready),
            before=format_number(before.ready),
        )  # fmt: skip
    return _("%(ready)s: %(changes)s.", ready=ready, changes="; ".join(parts) or _("as before"))


def reason_text(change: SpeciesChange) -> str:
    """Why, by the rate that alone changes most."""
    why = change.because
    if why is None:
        return _("No rate alone explains it.")
    told = _(
        "Most of all because of %(rate)s: %(after)s, where the plan took %(before)s.", rate=why.label.lower(),
        after=rate_text(why.following), before=rate_text(why.planned),
    )  # fmt: skip
    widths = [
        rate.high - rate.low if rate.low is not None and rate.high is not None else None
        for rate in (why.planned, why.following)
    ]
    before, after = widths
    if before is None or after is None:
        return told
    if after < before * (1 - NOTICED):
        return told + " " + _("It is surer now, so that less must be sown to be safe.")
    if after > before * (1 + NOTICED):
        return told + " " + _("Batches differed more than was thought, so that more must be sown to be safe.")
    return told


def methods() -> list[str]:
    """How the numbers come about."""
    return [
        _(
            "Planned: the rates that the plan was frozen with on its day, by which the season’s batches were sown;"
            " in eight of ten batches they were expected to lie in the range."
        ),
        _(
            "Seen: counts, germination tests and surveys from the plan’s day to the end of the season, added up,"
            " with Wilson’s interval of 80 %. Batches differ by more than that range says; what the next plan"
            " takes allows for it."
        ),
        _(
            "The next plan takes: the catalogue’s rate with everything that this nursery has seen until today, or"
            " the figure a person set by hand."
        ),
        _(
            "Survival in the field is seen on what was planted in earlier seasons: what it would cost is reckoned"
            " for this season’s plants, if it holds for them."
        ),
        _(
            "Cost in plants: what the plan sowed, reckoned once with all its own rates and once with this one as"
            " seen. Ready plants for germination to cull, plants that arrive for the handling loss, plants alive"
            " for the survival in the field. Errors of several rates do not simply add up."
        ),
        _("Seed with a germination test of its own was sown by that test: the species’ rate cost it nothing."),
        _(
            "Next sowing: the same targets, seed and chance asked for, once with the plan’s rates and once with"
            " today’s; lots, dates and what grows already are left out."
        ),
    ]


def _trays(before: int, after: int) -> str:
    return ngettext(
        "%(num)s tray instead of %(before)s",
        "%(num)s trays instead of %(before)s",
        after,
        before=format_number(before),
    )


def _seeds(part: str, before: int, after: int) -> str:
    if part == "cuttings":
        return ngettext(
            "%(num)s cutting instead of %(before)s", "%(num)s cuttings instead of %(before)s", after,
            before=format_number(before),
        )  # fmt: skip
    return ngettext(
        "%(num)s seed instead of %(before)s", "%(num)s seeds instead of %(before)s", after,
        before=format_number(before),
    )  # fmt: skip


def _per_cell(change: SpeciesChange) -> str:
    before, after = (per_cell_text(one.seeds_per_cell) for one in (change.before, change.after))
    return _("%(after)s to a cell instead of %(before)s", after=after, before=before)


def per_cell_text(numbers: tuple[int, int]) -> str:
    """Seeds per cell, from least to most."""
    least, most = (format_number(number) for number in numbers)
    return least if least == most else _("%(low)s to %(high)s", low=least, high=most)
