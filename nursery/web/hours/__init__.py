"""Hours by week beside what people have, and hours that were worked."""

from nursery.web.hours.routes import bp

__all__ = ["bp"]
