"""Origin: which lot may go where, the rules and strategies behind it, and what people decide."""

from nursery.web.origin import deciding, decisions, rules, strategy
from nursery.web.origin.pages import bp

__all__ = ["bp", "deciding", "decisions", "rules", "strategy"]
