"""Years in which what bears every other year does not flower."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pollinet.domain import BoolArray, Variety, VarietyId
from pollinet.phenology.streams import stream


def tends_to_alternate(variety: Variety) -> bool:
    """Whether a source says that its crops tend to alternate."""
    return any(f.property == "biennial_tendency" and f.value == "yes" for f in variety.facts)


def off_years(name: VarietyId, harvest_years: Sequence[int], *, draws: int, seed: int) -> BoolArray:
    """In which scenarios a variety that flowers every other year rests, shape (draws, winters).

    Which years are its off-years nobody knows: in half of the draws the even ones. All limbs of a
    variety keep step, as a frost or a heavy crop sets them to it together (own convention), and
    varieties do not keep step with each other. It rests without a single flower: the cautious
    side, as most bear a little in their off-years (own convention).
    """
    rng = stream(seed, "off years", name.species, name.name)
    phases = rng.permutation((np.arange(draws) + rng.integers(2)) % 2)
    years = np.asarray(harvest_years, dtype=np.int64)
    return np.asarray((phases[:, None] + years) % 2 == 1)
