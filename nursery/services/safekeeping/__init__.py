"""Keeping the whole database safe: archives, bringing them back, moving to another database, looking it over.

An archive is the same whatever database it comes from and goes to; each table has a fingerprint, and nothing
counts as written or brought back before the fingerprints agree.
"""

from nursery.services.safekeeping.archives import Archive, Manifest, back_up, open_archive
from nursery.services.safekeeping.checks import CHECKS, find_faults
from nursery.services.safekeeping.fingerprints import Content, contents
from nursery.services.safekeeping.moving import move
from nursery.services.safekeeping.restoring import Restored, restore

__all__ = [
    "CHECKS", "Archive", "Content", "Manifest", "Restored", "back_up", "contents", "find_faults", "move",
    "open_archive", "restore",
]  # fmt: skip
