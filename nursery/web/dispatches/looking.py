"""What the page of a load shows beside its own columns."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.models import Dispatch
from nursery.models.dispatches import DispatchStatus
from nursery.services.dispatches.judging import judge_batches
from nursery.services.dispatches.planning import overbooked
from nursery.services.dispatches.reading import rows_of
from nursery.services.dispatches.sending import goes_to_others
from nursery.services.dispatches.stopping import stops_of
from nursery.services.dispatches.sums import has_left, load_sums
from nursery.services.dispatches.trays import all_trays, trays_by_line
from nursery.services.dispatches.words import DECISION_LABELS, STATUS_LABELS, STATUS_TONES
from nursery.services.papers.applying import lacking, papers_for
from nursery.services.papers.words import KIND_LABELS
from nursery.services.quality.reading import latest_looks
from nursery.web.session import db, now, today


def load_context(load: Dispatch) -> Mapping[str, Any]:
    """Lines with their sums, what stands in the way, papers and quality; a fixed number of queries."""
    ids = {line.batch_id for line in load.lines}
    return {
        "rows": rows_of(load),
        "sums": load_sums(load),
        "all_trays": all_trays(trays_by_line(load.lines).values()),
        "states": STATUS_LABELS,
        "tones": STATUS_TONES,
        "decisions": DECISION_LABELS,
        "has_left": has_left(load),
        "judged": judge_batches(db(), ids, load.site_id, today=today()),
        "stops": stops_of(db(), load, now=now()),
        "overbooked": overbooked(db(), load),
        "looks": latest_looks(db(), ids),
        **papers_context(load),
    }


def papers_context(load: Dispatch) -> Mapping[str, Any]:
    """Papers that apply, and which of them are not drawn up."""
    if load.status is DispatchStatus.CANCELLED or not load.lines:
        return {"papers": [], "lacking": [], "paper_kinds": KIND_LABELS, "to_others": goes_to_others(load)}
    day = load.sent_on or today()
    return {
        "papers": [verdict for verdict in papers_for(db(), load, day) if verdict.applies],
        "lacking": lacking(db(), load, day),
        "paper_kinds": KIND_LABELS,
        "to_others": goes_to_others(load),
    }
