"""Where a variety stands of whose bloom nothing is known: in the run of its fruit.

Unknown is not no: such a variety blooms like one of its fruit's that is taken at random, as far as
that one is known. So the run's spread is that among the varieties together with the error that each
of them has, and is never less than that of a variety with evidence of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import Fertility, FloatArray, Run, Timing, Variety, VarietyId
from pollinet.messages import mark, say
from pollinet.phenology.climate import Climate
from pollinet.phenology.positions import (
    LEAST_PEERS,
    Dated,
    Family,
    Placed,
    Position,
    families,
    family_positions,
    placed,
    relative_length,
)


def run_position(
    peers: Sequence[Family],
    told: Dated,
    runs: Iterable[Run],
    here: Climate,
    sites: Mapping[str, Climate],
    timing: Timing,
    shifts: Mapping[tuple[str, int], float],
) -> Position | None:
    """Position of a variety of a fruit without any evidence; None: nothing is known of the fruit.

    Where the table has rows on the fruit it is that of the table: many varieties may be dated by
    nothing but their class, about the middle of that very run. Else it is that of the dated ones.

    peers, told : families of the fruit, which should not depend on the plan, with their dates as
        they are.
    runs : rows of the table on the fruit, all on bloom or all on pollen shed.
    shifts : as from `positions.place_shifts`.
    """
    tabled = [run for run in runs if run.evidence.place in sites]
    if tabled:
        return _tabled_run(tabled, here, sites, timing, shifts)
    clones = [peers[index].clone for index in told.families]
    number = {clone: i for i, clone in enumerate(dict.fromkeys(clones))}
    if len(number) < LEAST_PEERS:
        return None
    of = np.array([number[clone] for clone in clones])
    return _peer_run(placed(told, here, timing, shifts), of, here, timing)


def in_run(family: Family, run: Position, here: Climate, timing: Timing) -> Position:
    """The run's position for a family, with the length of bloom that is known of it."""
    return replace(run, length=relative_length(family, here, run.h, run.forcing_day, timing))


def _peer_run(
    peers: Placed, of: NDArray[np.integer[Any]], here: Climate, timing: Timing
) -> Position:
    """The middle of the usual days here of varieties, clones counted once.

    of : shape (N,), the number of the clone that each family is of.
    """
    middle = np.quantile(peers.forcing_day, 0.5, axis=0, method="lower")
    h = np.empty(len(timing.rules))
    variance = 0.0
    for r, rule in enumerate(timing.rules):
        begin, own = peers.forcing_day[:, r], peers.h[:, r]
        days = np.empty(of.size)
        for value in dict.fromkeys(begin.tolist()):
            same = begin == value
            days[same] = here.usual_day("full", value, rule.k, timing, own[same])
        day = _clone_means(days, of)
        h[r] = here.position("full", float(middle[r]), rule.k, timing, day.mean(keepdims=True))[0]
        variance += rule.weight * float(day.var(ddof=1))
    errors = _clone_means(peers.sd_days**2, of)
    weights = sum(rule.weight for rule in timing.rules)
    return Position(
        h=h,
        forcing_day=middle,
        sd_days=float(np.sqrt(variance / weights + errors.mean())),
        carried=float(_clone_means(peers.carried, of).mean()),
        length=None,
        rests_on=say(
            mark("the run of {number} varieties of its fruit, timing borrowed")
            if timing.borrowed
            else mark("the run of {number} varieties of its fruit"),
            number=len(errors),
        ),
        own=False,
    )


def _clone_means(values: FloatArray, of: NDArray[np.integer[Any]]) -> FloatArray:
    return np.asarray(np.bincount(of, values) / np.bincount(of))


def _tabled_run(
    runs: Sequence[Run],
    here: Climate,
    sites: Mapping[str, Climate],
    timing: Timing,
    shifts: Mapping[tuple[str, int], float],
) -> Position:
    """The run as trial sites have it, a middle between them where there are several."""
    name = VarietyId("", "")
    middle = Variety(name, Fertility(name, ""), tuple(run.evidence for run in runs))
    (position,) = family_positions(families([middle]), here, sites, timing, shifts)
    assert position is not None
    # Several sites tell the middle better; the varieties are spread about it as before.
    places = len({run.evidence.place for run in runs})
    return replace(
        position,
        sd_days=position.sd_days * float(np.sqrt(places)),
        rests_on=say(mark("the run of its fruit: {what}"), what=position.rests_on),
        own=False,
    )
