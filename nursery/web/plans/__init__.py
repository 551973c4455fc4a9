"""Plans: made, listed, adopted, read line by line and compared."""

from nursery.web.plans import comparing, lines, making, pages
from nursery.web.plans.blueprint import bp

__all__ = ["bp", "comparing", "lines", "making", "pages"]
