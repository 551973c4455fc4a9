"""Papers that travel: the list, one paper, those of a load and of seed that is given; and rulings."""

from nursery.web.papers import of_load, of_seed, rulings
from nursery.web.papers.routes import bp

__all__ = ["bp", "of_load", "of_seed", "rulings"]
