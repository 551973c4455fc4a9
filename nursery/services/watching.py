"""The seed watch: lots to test again, to sow in time, past their best, or in the wrong place."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry
from nursery.i18n import format_date, format_percent
from nursery.i18n import gettext as _
from nursery.models import Lot, SeedTest, Species, StoragePlace
from nursery.models.lots import Material
from nursery.planning.harm import Harm
from nursery.planning.heavy import pd
from nursery.services.catalogue import effective_entries
from nursery.services.keeping import courses
from nursery.services.lot_figures import day_of, lot_figures
from nursery.services.seed_tests import KIND_LABELS, refused_last, verdict_text
from nursery.services.storage_warnings import left_out, misplaced
from nursery.services.watch_words import Reason

#: How long before its day a lot is put on the list, in days; own convention.
RETEST_AHEAD, SOW_AHEAD = 60, 120


_URGENCY = {"stop": 0, "caution": 1, "waiting": 2}
_ORDER = {reason: number for number, reason in enumerate(Reason)}


@dataclass(frozen=True, slots=True)
class Watched:
    """One reason to look at one lot; ``day`` is the one by which something is due."""

    lot_id: int
    code: str
    species_name: str
    species_key: str
    place: str
    viability: float
    reason: Reason
    tone: str
    day: dt.date | None
    text: str


def watch_lots(session: Session, *, today: dt.date) -> list[Watched]:
    """All reasons to look at lots that hold anything, the most pressing first, in a fixed number of queries."""
    found = session.execute(_query())
    lots = pd.DataFrame([tuple(row) for row in found], columns=list(found.keys()))
    if lots.empty:
        return []
    entries = effective_entries(session, set(lots["species_id"]))
    lots = lots[lots["species_id"].isin(list(entries))].reset_index(drop=True)
    table = courses(lot_figures(lots, entries), entries, today)
    repeats = _repeats(session)
    watched = [
        reason
        for row in _rows(table)
        for reason in _reasons(row, entries[row.species_id], repeats.get(row.lot_id, ()), today)
    ]
    return sorted(
        watched, key=lambda each: (_URGENCY[each.tone], _ORDER[each.reason], each.day or today, each.code)
    )


def _rows(table: pd.DataFrame) -> Iterator[Any]:
    return table.itertuples(index=False)


def _query() -> Any:
    return (
        select(
            Lot.id.label("lot_id"), Lot.code, Lot.species_id, Lot.material, Lot.amount_mg, Lot.pieces, Lot.purity,
            Lot.tsw_g, Lot.germination, Lot.tested_on, Lot.collected_on, Lot.moisture_pct, Lot.moisture_on,
            Lot.stored_on, Lot.harmed_on,
            Species.scientific_name.label("species_name"), Species.key.label("species_key"),
            StoragePlace.name.label("place"), StoragePlace.temperature_c, StoragePlace.humidity_pct,
        )
        .join(Lot.species).outerjoin(Lot.storage_place)
        .where(Lot.archived_at.is_(None), or_(Lot.amount_mg > 0, Lot.pieces > 0))
        .order_by(Lot.id)
    )  # fmt: skip


def _repeats(session: Session) -> dict[int, list[SeedTest]]:
    """Refused tests that nobody has repeated, by lot."""
    refused = select(SeedTest.lot_id).where(SeedTest.is_accepted.is_(False), SeedTest.withdrawn_at.is_(None))
    by_lot: defaultdict[int, list[SeedTest]] = defaultdict(list)
    for test in session.scalars(select(SeedTest).where(SeedTest.lot_id.in_(refused))):
        by_lot[test.lot_id].append(test)
    return {lot_id: refused_last(tests) for lot_id, tests in by_lot.items()}


def _reasons(row: Any, entry: SpeciesEntry, repeats: Sequence[SeedTest], today: dt.date) -> Iterator[Watched]:
    place = row.place if isinstance(row.place, str) else ""  # pandas has NaN where there is none
    for reason, tone, day, text in (
        *_wrong_places(row, entry, today),
        *((Reason.REPEAT, "caution", test.tested_on, _repeat_text(test)) for test in repeats),
        *(() if row.harm else _due(row, today)),
    ):
        yield Watched(
            row.lot_id, row.code, row.species_name, row.species_key, place, float(row.viability), reason, tone,
            day, text,
        )  # fmt: skip


def _wrong_places(row: Any, entry: SpeciesEntry, today: dt.date) -> Iterator[tuple[Reason, str, None, str]]:
    """The worst first, and with it whether plans leave the lot out."""
    killed = left_out(row.harm, None if pd.isna(row.harmed_on) else row.harmed_on)
    if row.harm == Harm.BEFORE:
        yield Reason.PAST, "stop", None, killed
    if row.material == Material.CUTTINGS:
        return
    for wrong in misplaced(
        entry.storage.behaviour,
        temperature_c=_given(row.temperature_c),
        humidity_pct=_given(row.humidity_pct),
        moisture_pct=_given(row.moisture_pct),
        kept_days=(today - day_of(row.collected_on)).days,
    ):
        text = f"{wrong.title}. {wrong.text}"
        yield Reason.MISPLACED, wrong.tone, None, f"{text} {killed}" if killed and wrong.tone == "stop" else text


def _due(row: Any, today: dt.date) -> Iterator[tuple[Reason, str, dt.date, str]]:
    last_on, tested_on = day_of(row.last_on), day_of(row.tested_on)
    values = {"day": format_date(last_on), "tested": format_date(tested_on)}
    if row.is_past:
        if row.can_wait:
            text = _(
                "Since %(day)s less than half of what was tested is expected to live, and no plan draws it. Test"
                " it again, or discard it."
            )
        else:
            text = _(
                "It was to be used by %(day)s: less than half of it is expected to live, and no plan draws it. Cut"
                " some open, sow what is sound, or discard it."
            )
        yield Reason.PAST, "stop", last_on, text % values
    elif not row.can_wait:
        if last_on <= today + dt.timedelta(SOW_AHEAD):
            text = _("It cannot wait for another season: after %(day)s less than half of it is expected to live.")
            yield Reason.SOW, "caution", last_on, text % values
    elif (due := day_of(row.retest_on)) <= today + dt.timedelta(RETEST_AHEAD):
        values["expected"] = format_percent(row.viability)
        text = (
            _("Last tested on %(tested)s; %(expected)s are expected to live today.")
            if row.is_tested
            else _("Never tested: %(expected)s is the catalogue’s figure, aged since collecting.")
        )
        yield Reason.RETEST, "caution" if due <= today else "waiting", due, text % values


def _repeat_text(test: SeedTest) -> str:
    return f"{KIND_LABELS[test.kind]}, {format_date(test.tested_on)}. {verdict_text(test)}"


def _given(value: Any) -> float | None:
    return None if pd.isna(value) else float(value)
