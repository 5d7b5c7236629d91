"""Odd logs, sheets and notes: refused with place and cure, told, or meant; never a fault."""

from __future__ import annotations

import odd_logs
from oddities import trials

test_odd_logs, test_all_other_odd_logs = trials(odd_logs.cases, one_of=7, least=200)
