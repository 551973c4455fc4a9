"""What the page of a load's papers, or of given seed, shows: each paper with its state and what it waits for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from flask import request, url_for

from nursery.models import Paper
from nursery.planning.origin.words import Verdict as Level
from nursery.services.origin.words import TONES, VERDICT_LABELS
from nursery.services.papers.applying import Verdict, judge, notices
from nursery.services.papers.cases import Particular, Stated
from nursery.services.papers.consignments import Consignment, Part
from nursery.services.papers.drawing_up import held_back, preview
from nursery.services.papers.floor import floor_checks
from nursery.services.papers.hosts import hosts_of
from nursery.services.papers.keeping import STATE_LABELS, STATE_TONES, state_of
from nursery.services.papers.material import material_checks
from nursery.services.papers.sources import Sources, read_sources
from nursery.services.papers.truth import lines_of
from nursery.services.papers.words import DEFER, FOREST, KIND_LABELS
from nursery.web.session import db

#: The part of a paper of all that travels, in an address.
ALL = "all"


@dataclass(frozen=True)
class Wanted:
    """One paper of one part: drawn up already, or what it waits for."""

    verdict: Verdict
    part: Part | None
    paper: Paper | None
    #: What no record holds yet; what the form of the paper asks is left out.
    missing: Sequence[Particular]
    url: str
    #: Why its plants may not leave.
    held: str = ""


def context(consignment: Consignment, draw_url: Callable[..., str]) -> dict[str, object]:
    """Names for the template."""
    verdicts = judge(consignment)
    sources = read_sources(db(), consignment)
    held = held_back(db(), consignment)
    forest = [verdict for verdict in verdicts if verdict.applies and verdict.kind in FOREST]
    checks = [
        check
        for part in (consignment.parts if consignment.ruling is None else ())
        for check in (
            *floor_checks(consignment, part, sources.checks), *material_checks(consignment, part, sources)
        )
    ]  # fmt: skip
    return {
        "consignment": consignment,
        "wanted": [
            _wanted(consignment, verdict, part, sources, held, draw_url)
            for verdict in verdicts
            if verdict.applies
            for part in verdict.parts or (None,)
        ],
        "held": list(dict.fromkeys(held.values())),
        "untrue": sources.untrue,
        "left_out": [verdict for verdict in verdicts if not verdict.applies],
        "kinds": KIND_LABELS,
        "state_of": state_of,
        "state_labels": STATE_LABELS,
        "state_tones": STATE_TONES,
        "checks": checks,
        "stops": any(check.level is Level.STOP for check in checks),
        "level_labels": VERDICT_LABELS,
        "level_tones": TONES,
        "hosts": hosts_of(db(), consignment),
        "notices": notices(consignment),
        "defer": DEFER,
        "draw_url": draw_url,
        "ruling_url": _ruling_url(consignment) if forest else "",
        "link_of": link_of,
    }


def _ruling_url(consignment: Consignment) -> str:
    """Where an authority's ruling that the planting is not for forestry is written down."""
    load, taker = consignment.dispatch, consignment.recipient
    if load is not None:
        return url_for("papers.ruling", kind="site", record_id=load.site_id, next=request.path)
    return url_for("papers.ruling", kind="recipient", record_id=taker.id, next=request.path) if taker else ""


def _wanted(
    consignment: Consignment, verdict: Verdict, part: Part | None, sources: Sources,
    held: Mapping[int, str], draw_url: Callable[..., str],
) -> Wanted:  # fmt: skip
    url = draw_url(kind=verdict.kind.value, part=part.key if part else ALL)
    paper = sources.drawn.get((verdict.kind, part.key if part else ""))
    if paper is not None:
        return Wanted(verdict, part, paper, (), url)
    found = preview(db(), verdict.kind, consignment, part, Stated(), sources=sources)
    stopped = next((held[line.batch_id] for line in lines_of(consignment, part) if line.batch_id in held), "")
    return Wanted(verdict, part, None, on_record(found.missing), url, stopped)


def on_record(missing: Sequence[Particular]) -> list[Particular]:
    """What is to be filled in elsewhere than in the form of the paper itself."""
    return [row for row in missing if row.link is not None or row.field == "document-number"]


def link_of(row: Particular) -> str:
    """The page where a particular is filled in; saving leads back here."""
    if row.link is None:
        return ""
    endpoint, values = row.link
    return url_for(endpoint, next=request.path, **values)
