"""Batches: sown, counted, moved, sent out; every plant in a ledger that is only added to.

`moving.move` is the one place where the number of plants changes; each act of work has a module of its own.
"""

from nursery.services.batches.checking import wrong_plant_balances
from nursery.services.batches.counting import record_count
from nursery.services.batches.dispatching import bring_back, dispatch, dispatched_to
from nursery.services.batches.losing import lose
from nursery.services.batches.merging import judge_merger, merge
from nursery.services.batches.moving import move
from nursery.services.batches.origins import batch_lots, lots_of
from nursery.services.batches.placing import leave, move_trays, place, standing
from nursery.services.batches.pricking import prick_out
from nursery.services.batches.reading import Entry, read_ledger
from nursery.services.batches.reversing import reverse_act
from nursery.services.batches.sowing import sow, unsow
from nursery.services.batches.splitting import split
from nursery.services.batches.staging import set_stage
from nursery.services.batches.sums import PlantSums, plant_sums
from nursery.services.batches.thinning import thin
from nursery.services.batches.withdrawing import withdraw_count

__all__ = [
    "Entry",
    "PlantSums",
    "batch_lots",
    "bring_back",
    "dispatch",
    "dispatched_to",
    "judge_merger",
    "leave",
    "lose",
    "lots_of",
    "merge",
    "move",
    "move_trays",
    "place",
    "plant_sums",
    "prick_out",
    "read_ledger",
    "record_count",
    "reverse_act",
    "set_stage",
    "sow",
    "split",
    "standing",
    "thin",
    "unsow",
    "withdraw_count",
    "wrong_plant_balances",
]
