"""What the pages of a batch, of a bench and of the season show of plant health."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.models import Batch, Bench
from nursery.services.health.glance import health_of_batch, health_of_bench, season_note
from nursery.services.health.reentry import reentries_of_batches, running_reentries
from nursery.services.health.words import FINDINGS, TONES
from nursery.web.session import db, now


def of_batch(row: Batch) -> Mapping[str, Any]:
    """For ``batches/_panels/_health.html``."""
    health = health_of_batch(db(), row, now=now())
    return {"health": health, "health_findings": FINDINGS, "health_tones": TONES}


def of_bench(row: Bench) -> Mapping[str, Any]:
    """For ``health/_place.html`` on a bench's page."""
    health = health_of_bench(db(), row, now=now())
    return {"health": health, "health_findings": FINDINGS, "health_tones": TONES}


def of_act(row: Batch, *, elsewhere: bool = False) -> Mapping[str, Any]:
    """For ``health/_reentries.html``: what somebody meets who works at the batch, or carries it ``elsewhere``."""
    if elsewhere:  # the bench it goes to is not known yet
        return of_work()
    return {"reentries": reentries_of_batches(db(), [row.id], now=now()).get(row.id, ())}


def of_work() -> Mapping[str, Any]:
    """For ``health/_reentries.html``."""
    return {"reentries": running_reentries(db(), now=now())}


def of_season() -> Mapping[str, Any]:
    """For ``health/_season.html``."""
    return {"health_note": season_note(db(), now=now())}
