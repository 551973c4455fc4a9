"""Pages of the species catalogue, of the nursery's own figures, and of what it has learned."""

from nursery.web.species import learned as learned  # its routes join the blueprint
from nursery.web.species.routes import bp

__all__ = ["bp"]
