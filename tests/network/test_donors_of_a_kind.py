"""Limbs of one variety are looked at once: what is told of each is what it is when asked alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from gardens import HILL, entry, grown, studied

from pollinet.network.donors import TOGETHER, donor_table
from pollinet.network.viability import receivers_of

VARIETIES = ("Van", "Regina", "Old Nobody", "Stella", "Van", "Van", "Regina", "Old Nobody")


def test_each_pair_is_as_when_it_is_asked_alone(tmp_path: Path) -> None:
    """A pair alone is worked out by itself; in a whole garden limbs stand for each other."""
    trees = "".join(
        grown(
            "sweet cherry", {f"{i}-{place}": name for place, name in enumerate(VARIETIES)},
            f"t{i}", position_m=[25 * i, 0],
        )
        for i in range(3)
    )  # fmt: skip
    own = entry("variety", species="sweet cherry", name="Old Nobody")
    where = {"species": "sweet cherry", "variety": "Van", "position_m": [0, 30]}
    next_door = entry("neighbour", id="n", **where)
    path = tmp_path / "plan.toml"
    head = HILL.partition("[[tree]]")[0]
    path.write_text(f"{head}{trees}{next_door}{own}", encoding="utf-8")
    study = studied(path)
    network = study.network
    receivers, donors = receivers_of(network), range(len(network.nodes))
    assert len(receivers) * len(donors) * network.open_start_h.shape[1] > TOGETHER
    table = donor_table(network, receivers, donors)
    for row, receiver in enumerate(receivers):
        for donor in donors:
            alone = donor_table(network, [receiver], [donor])
            assert table.entries[row, donor] == alone.entries[0, 0]
            assert np.array_equal(table.bits[:, row, donor], alone.bits[:, 0, 0])
            assert table.reliability[row, donor] == alone.reliability[0, 0]
            assert table.effective_days[row, donor] == alone.effective_days[0, 0]
            assert table.unknown[row, donor] == alone.unknown[0, 0]
    assert table.unknown.any() and (table.reliability > 0).any()
