"""Work: the day's page, a task's page, lists and sheets."""

from nursery.web.work import acts
from nursery.web.work.routes import bp

acts.add_routes(bp)

__all__ = ["bp"]
