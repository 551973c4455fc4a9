"""Tasks in words: what to do, to what, how much of it, and where."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Task
from nursery.planning.work.words import Job, TaskStatus, Unit

#: Label and tone.
STATUS = {
    TaskStatus.OPEN: (_l("To do"), "waiting"),
    TaskStatus.PARTLY: (_l("Partly done"), "info"),
    TaskStatus.DONE: (_l("Done"), "ok"),
    TaskStatus.SKIPPED: (_l("Skipped"), "caution"),
    TaskStatus.DROPPED: (_l("No longer asked for"), "waiting"),
}
STATUS_LABELS = {status: label for status, (label, _tone) in STATUS.items()}
_JOBS = {
    Job.WITHDRAW: _l("Take seed from the store"),
    Job.SOAK: _l("Put to soak"),
    Job.SCARIFY: _l("Scarify"),
    Job.SOW: _l("Sow in cells"),
    Job.PRICK_OUT: _l("Prick out into cells"),
    Job.THIN: _l("Thin to one plant a cell"),
    Job.MOVE: _l("Move to the hardening place"),
    Job.FEED: _l("Liquid feed for all that grows"),
    Job.WATER: _l("Water"),
    Job.WEED: _l("Weed"),
    Job.HARDEN: _l("Begin hardening"),
    Job.GRADE: _l("Grade, and count what is ready"),
    Job.DISPATCH: _l("Send out to plant"),
    Job.SURVEY: _l("Count what lives after a year"),
    Job.RETEST: _l("Test seed again"),
    Job.COLLECT: _l("Collect"),
}
_PHASES = {
    "heat": _l("Treat with dry heat"),
    "warm-stratify": _l("Move into warm stratification"),
    "cold-stratify": _l("Move into cold stratification"),
    "sprout": _l("Put to sprout"),
    "cold-store": _l("Put into the moist cold store"),
    "callus": _l("Put to callus"),
}
_LOOKS = {
    "warm-stratify": _l("Look at seed in warm stratification"),
    "cold-stratify": _l("Look at seed in cold stratification"),
    "sprout": _l("Look at sprouting seed"),
    "cold-store": _l("Look at seed in the cold store"),
    "callus": _l("Look at cuttings put to callus"),
}
_SOWINGS = {
    "presprouted": _l("Set sprouted seed in cells"),
    "pricked-out": _l("Sow in flats"),
    "cuttings": _l("Set cuttings"),
    "bareroot": _l("Sow in the bed"),
}
_COUNTS = {
    "emerged": _l("Count what has come up"),
    "growing": _l("Count the growing plants"),
    "hardening": _l("Count before hardening"),
}
_LETTERS: dict[str, Callable[..., str]] = {
    "notice": lambda **words: _("Tell %(authority)s before collecting", **words),
    "report": lambda **words: _("Report quantities to %(authority)s", **words),
    "renewal": lambda **words: _("Ask %(authority)s for a new permit", **words),
}


def title(task: Task) -> str:
    """What to do."""
    own = _TITLES.get(task.job)
    return (own(task.details) if own is not None else "") or str(_JOBS.get(task.job, task.job))


def _letter(told: Mapping[str, Any]) -> str:
    return _LETTERS.get(told.get("kind", ""), _LETTERS["notice"])(authority=told.get("authority", ""))


def _count(told: Mapping[str, Any]) -> str:
    if told.get("method") == "cuttings" and told.get("stage") == "emerged":
        return _("Count what has rooted")
    return str(_COUNTS.get(told.get("stage", ""), ""))


def _survey(told: Mapping[str, Any]) -> str:
    years = int(told.get("year", 1))
    named = ngettext("Count what lives after %(num)s year", "Count what lives after %(num)s years", years)
    return named if years > 1 else ""


def _withdrawal(told: Mapping[str, Any]) -> str:
    return _("Take cuttings from the store") if told.get("method") == "cuttings" else ""


#: By job: a title from the details, empty where the job's own will do.
_TITLES: dict[Job, Callable[[Mapping[str, Any]], str]] = {
    Job.NOTICE: _letter,
    Job.COUNT: _count,
    Job.CHECK: lambda told: str(_LOOKS.get(told.get("phase", ""), _l("Look at seed"))),
    Job.SURVEY: _survey,
    Job.SOW: lambda told: str(_SOWINGS.get(told.get("method", ""), "")),
    Job.WITHDRAW: _withdrawal,
    Job.STRATIFY: lambda told: str(_PHASES.get(told.get("phase", ""), _l("Begin the next treatment"))),
    Job.SCARIFY: lambda told: str(_PHASES.get(told.get("phase", ""), "")),
}


def species(task: Task) -> str:
    """To which species; several are named one after another."""
    told = task.details
    return told.get("species") or ", ".join(told.get("names", ()))


def amount(task: Task) -> str:
    """How much of it, with the seed where seed is handled; empty where nobody can say."""
    told = task.details
    parts = []
    if task.job in {Job.WITHDRAW, Job.SOW} and told.get("seeds"):
        parts.append(
            ngettext("%(num)s cutting", "%(num)s cuttings", told["seeds"])
            if told.get("method") == "cuttings"
            else ngettext("%(num)s seed", "%(num)s seeds", told["seeds"])
        )
    if task.job is Job.WITHDRAW and told.get("grams"):
        parts.append(_("%(grams)s g", grams=format_number(told["grams"], 1 if told["grams"] >= 10 else 2)))
    if task.amount is not None and task.unit is not Unit.LOTS:
        parts.append(quantity(task, task.amount))
    if task.job is Job.SOW and (told.get("seeds_per_cell") or 1) > 1 and told.get("method") == "direct":
        parts.append(_("%(num)s to a cell", num=format_number(told["seeds_per_cell"])))
    return " · ".join(parts)


def quantity(task: Task, value: float) -> str:
    """A number of the task's unit."""
    number = round(value)
    match task.unit:
        case Unit.CELLS:
            return ngettext("%(num)s cell", "%(num)s cells", number)
        case Unit.TRAYS:
            return ngettext("%(num)s tray", "%(num)s trays", number)
        case Unit.PLANTS:
            return ngettext("%(num)s plant", "%(num)s plants", number)
        case Unit.SEEDS:
            return ngettext("%(num)s seed", "%(num)s seeds", number)
        case Unit.LOTS:
            return ngettext("%(num)s lot", "%(num)s lots", number)
        case _:
            return f"{format_number(value, 1)} g"


def where(task: Task) -> str:
    """Where it is done: bench and nursery, or the place in the field."""
    told: dict[str, Any] = task.details
    if task.job in {Job.COLLECT, Job.NOTICE}:
        return ", ".join(told.get("places", told.get("permits", ()))) or told.get("code", "")
    if task.job is Job.SURVEY:
        return str(told.get("site", ""))
    places = [task.bench.name if task.bench is not None else "", task.nursery.name if task.nursery else ""]
    return ", ".join(place for place in places if place)


def purpose(task: Task) -> str:
    """For which site and season; empty for what serves several."""
    site, season = task.details.get("site"), task.details.get("season")
    if not site or season is None or task.job is Job.SURVEY:
        return ""
    return _("for %(site)s, %(season)s", site=site, season=f"{season}/{(season + 1) % 100:02d}")


def object_codes(task: Task) -> list[str]:
    """Codes of what it is done to: a batch, or lots."""
    told = task.details
    if told.get("batch"):
        return [told["batch"]]
    if told.get("lot"):
        return [told["lot"]]
    return list(told.get("lots", ()))


def line(task: Task) -> str:
    """All of it in one line, for calendars, tables and messages."""
    parts = [title(task), species(task), amount(task), ", ".join(object_codes(task)[:3])]
    return " · ".join(part for part in parts if part)
