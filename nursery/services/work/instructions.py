"""How a task is done: the protocol's own words, and what to take care of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry, caution_text
from nursery.catalog.entries import Phase
from nursery.i18n import gettext
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Task
from nursery.planning.work.words import Job
from nursery.services.catalogue import effective_entries

_SEED = {Job.WITHDRAW, Job.SOAK, Job.SCARIFY, Job.STRATIFY, Job.CHECK, Job.SOW, Job.RETEST}
_PLANTS = {Job.PRICK_OUT, Job.THIN, Job.MOVE, Job.HARDEN, Job.COUNT, Job.GRADE, Job.DISPATCH}
#: A species' own cautions that matter at each kind of work; those of the field hold when seed is collected.
_OF_SEED = ("toxic-seed", "toxic-fruit", "toxic-raw")
_OF_PLANTS = ("toxic-sap", "spiny", "ash-dieback", "fire-blight", "xylella", "elm-disease")
_HYGIENE = "water-hygiene"
_LIFTED = {Job.SOW, Job.PRICK_OUT, Job.MOVE, Job.HARDEN, Job.GRADE, Job.DISPATCH}
_OWN = {
    Job.FEED: _l(
        "Concentrated feed burns skin and eyes and runs off into rivers: gloves and goggles, by the label."
    ),
    Job.SURVEY: _l("Out in the field: go in pairs, tell somebody where, mind heat, rivers and fire weather."),
    Job.COLLECT: _l(
        "Out in the field: go in pairs, carry the permit, tell somebody where, mind heat and fire weather."
    ),
    Job.DISPATCH: _l("Secure the load, cover plants against wind and sun, and never drive tired."),
}
#: How work is done that no protocol speaks of (common practice, no source).
_HOW = {
    Job.CHECK: _l(
        "Turn the seed, take out what is mouldy, moisten where dry, note the first roots: they mean sow now."
    ),
    Job.FEED: _l("Water first, then the feed at the label’s weakest strength. Leave out what hardens off."),
    Job.HARDEN: _l("Less water, no nitrogen, and step by step to full sun and wind."),
    Job.MOVE: _l("Keep labels with their trays; write the new bench down on the batch’s page."),
    Job.GRADE: _l("Keep what has a firm root plug and a sound, straight shoot; count by grade; compost the rest."),
    Job.COUNT: _l("All trays, or trays drawn by lot: the page says how many are enough."),
    Job.WITHDRAW: _l("Weigh it out, write the lot on the bag, close the container again at once."),
}


@dataclass(frozen=True, slots=True)
class Instruction:
    """What is told of a task beside what it is."""

    note: str
    temperature_c: float | None
    #: Sources and words of the protocol are its own; ``how`` is common practice.
    how: str
    cautions: tuple[str, ...]


def instructions(session: Session, tasks: Sequence[Task]) -> Mapping[int, Instruction]:
    """Words and cautions of tasks by id, in a fixed number of queries."""
    ids = {species_id for task in tasks for species_id in _species(task)}
    entries = effective_entries(session, ids) if ids else {}
    return {
        task.id: _instruction(task, [entries[one] for one in _species(task) if one in entries]) for task in tasks
    }


def _species(task: Task) -> list[int]:
    one = task.details.get("species_id")
    return [one] if one else list(task.details.get("species_ids", ()))


def _instruction(task: Task, entries: Sequence[SpeciesEntry]) -> Instruction:
    entry = entries[0] if len(entries) == 1 else None
    phase = _phase(task, entry)
    told = [phase.caution] if phase is not None and phase.caution else []
    own = dict.fromkeys(key for one in entries for key in one.cautions)
    if task.job is Job.COLLECT:
        told += [key for key in own if key != _HYGIENE]
    if task.job in _SEED:
        told += [key for key in _OF_SEED if key in own]
    if task.job in _PLANTS:
        told += [key for key in _OF_PLANTS if key in own]
    cautions = [caution_text(key) for key in dict.fromkeys(told)]
    if task.job in _OWN:
        cautions.append(str(_OWN[task.job]))
    if task.job in _LIFTED:
        cautions.append(
            _("Full trays and sacks are heavy: lift with a straight back, in pairs, or use a trolley.")
        )
    if task.job in _SEED | _PLANTS:
        cautions.append(caution_text(_HYGIENE))
    note = gettext(phase.note) if phase is not None and phase.note else ""
    temperature = phase.temperature_c if phase is not None else None
    return Instruction(note, temperature, str(_HOW.get(task.job, "")), tuple(cautions))


def _phase(task: Task, entry: SpeciesEntry | None) -> Phase | None:
    """The phase that the work belongs to, as the catalogue has it today."""
    if entry is None or task.job is Job.WITHDRAW:
        return None
    for protocol in entry.protocols:
        if protocol.key == task.details.get("protocol"):
            return next((one for one in protocol.phases if one.key == task.details.get("phase")), None)
    return None
