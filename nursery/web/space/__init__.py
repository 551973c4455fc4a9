"""Room in the nursery: weeks ahead, levelling, spacing and water."""

from nursery.web.space import rooms
from nursery.web.space.routes import bp

__all__ = ["bp", "rooms"]
