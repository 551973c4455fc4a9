"""The seed ledger: every gram and every piece that comes to a lot or leaves it, as movements that are only added.

`move` is the one place where an amount changes; each act of work has a module of its own.
"""

from nursery.services.ledger.checking import wrong_balances
from nursery.services.ledger.mixing import Proposal, judge_lots, mix_lots, needs_certificate
from nursery.services.ledger.moving import move, new_act, seed_measure
from nursery.services.ledger.opening import open_balances
from nursery.services.ledger.processing import clean_lot, extract_seed
from nursery.services.ledger.reading import Entry, read_ledger
from nursery.services.ledger.recounting import recount_lot
from nursery.services.ledger.reversing import reverse_act
from nursery.services.ledger.shares import lot_descendants, lot_origins, lot_shares
from nursery.services.ledger.splitting import split_lot
from nursery.services.ledger.taking import take_from_lot
from nursery.services.ledger.yields import ExtractionYield, extraction_yields

__all__ = [
    "Entry",
    "ExtractionYield",
    "Proposal",
    "clean_lot",
    "extract_seed",
    "extraction_yields",
    "judge_lots",
    "lot_descendants",
    "lot_origins",
    "lot_shares",
    "mix_lots",
    "move",
    "needs_certificate",
    "new_act",
    "open_balances",
    "read_ledger",
    "recount_lot",
    "reverse_act",
    "seed_measure",
    "split_lot",
    "take_from_lot",
    "wrong_balances",
]
