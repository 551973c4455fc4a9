"""Which lot serves which target: one optimisation over all of them."""

from nursery.planning.allocation.allocate import Allocation, Progress, allocate
from nursery.planning.allocation.problem import SOURCES, Holdings, Needs, Pairs, Problem

__all__ = ["SOURCES", "Allocation", "Holdings", "Needs", "Pairs", "Problem", "Progress", "allocate"]
