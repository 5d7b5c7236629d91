"""Odd options of every command: refused with place and cure, told, or meant; never a fault."""

from __future__ import annotations

import odd_options
from oddities import trials

test_odd_options, test_all_other_odd_options = trials(odd_options.cases, one_of=10, least=200)
