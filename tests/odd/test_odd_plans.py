"""Odd plans: refused with place and cure, told, or plainly meant; never a fault."""

from __future__ import annotations

import odd_plans
from oddities import trials

test_odd_plans, test_all_other_odd_plans = trials(odd_plans.cases, one_of=6, least=300)
