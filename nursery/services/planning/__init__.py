"""The plan as people use it: made, kept, adopted, read and compared."""

from nursery.services.planning.plans import adopt_plan, current_plan, get_plan, list_plans, make_plan, newest_plan

__all__ = ["adopt_plan", "current_plan", "get_plan", "list_plans", "make_plan", "newest_plan"]
