"""Standard times of every job."""

from nursery.web.standard_times.routes import bp

__all__ = ["bp"]
