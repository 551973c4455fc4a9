"""Seed and plants on their way: forward from a mother, stand or lot, and back from a site."""

from nursery.services.flows.back import Origins, SiteTrace, trace_site
from nursery.services.flows.batch import BatchOnward, follow_batch
from nursery.services.flows.forward import Onward, follow_lot, follow_stand

__all__ = [
    "BatchOnward",
    "Onward",
    "Origins",
    "SiteTrace",
    "follow_batch",
    "follow_lot",
    "follow_stand",
    "trace_site",
]
