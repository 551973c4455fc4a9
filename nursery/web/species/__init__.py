"""Pages of the species catalogue and of the nursery's own figures."""

from nursery.web.species.routes import bp

__all__ = ["bp"]
