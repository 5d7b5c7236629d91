"""Odd weather of every format: refused with place and cure, told, or meant; never a fault."""

from __future__ import annotations

import odd_weather
from oddities import trials

test_odd_weather, test_all_other_odd_weather = trials(odd_weather.cases, one_of=14, least=120)
