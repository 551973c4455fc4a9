"""Libraries for signing in that take long to load; nothing of them may be used while a module is imported."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nursery.later import later

if TYPE_CHECKING:
    import argon2
    import pyotp
else:
    argon2, pyotp = later("argon2"), later("pyotp")

__all__ = ["argon2", "pyotp"]
