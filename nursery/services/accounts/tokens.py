"""Secrets that are given out once: long, random, and kept as a hash only."""

from __future__ import annotations

import hashlib
import secrets


def new_token() -> str:
    """A secret of 256 bits, fit for an address."""
    return secrets.token_urlsafe(32)


def token_hash(token: str) -> str:
    """What is kept of it. A plain hash is enough: nobody can try out 2^256 secrets."""
    return hashlib.sha256(token.encode()).hexdigest()
