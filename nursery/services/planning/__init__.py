"""The plan as people use it: made, kept, adopted, read and compared."""

from nursery.services.planning.compare import Difference, compare_plans
from nursery.services.planning.contract import current_plan_as_data, plan_as_data
from nursery.services.planning.plans import adopt_plan, current_plan, get_plan, list_plans, make_plan, newest_plan

__all__ = [
    "Difference",
    "adopt_plan",
    "compare_plans",
    "current_plan",
    "current_plan_as_data",
    "get_plan",
    "list_plans",
    "make_plan",
    "newest_plan",
    "plan_as_data",
]
