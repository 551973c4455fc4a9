"""Room in the nursery: weeks ahead, levelling, spacing and water."""

from nursery.web.space import levelling, rooms
from nursery.web.space.routes import bp

__all__ = ["bp", "levelling", "rooms"]
