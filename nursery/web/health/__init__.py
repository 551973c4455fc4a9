"""Plant health: what is open, quarantine, hygiene and whom to call."""

from nursery.web.health import hygiene
from nursery.web.health.routes import bp

__all__ = ["bp", "hygiene"]
