"""Odd own tables and pairs: refused with place and cure, told, or plainly meant; never a fault."""

from __future__ import annotations

import odd_tables
from oddities import trials

test_odd_tables, test_all_other_odd_tables = trials(odd_tables.cases, one_of=4, least=100)
