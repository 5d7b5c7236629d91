"""Limbs of one variety are looked at once: what is told of each is what it is when asked alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from gardens import HILL, studied

from pollinet.network.donors import TOGETHER, donor_table
from pollinet.network.viability import receivers_of

VARIETIES = ("Van", "Regina", "Old Nobody", "Stella", "Van", "Van", "Regina", "Old Nobody")


def test_each_pair_is_as_when_it_is_asked_alone(tmp_path: Path) -> None:
    """A pair alone is worked out by itself; in a whole garden limbs stand for each other."""
    trees = "".join(
        f'[[tree]]\nid = "t{i}"\nspecies = "sweet cherry"\nposition_m = [{25 * i}, 0]\n'
        + "".join(
            f'[[tree.limb]]\nid = "{i}-{place}"\nvariety = "{name}"\n'
            for place, name in enumerate(VARIETIES)
        )
        for i in range(3)
    )
    own = '[[variety]]\nspecies = "sweet cherry"\nname = "Old Nobody"\n'
    next_door = (
        '[[neighbour]]\nid = "n"\nspecies = "sweet cherry"\nvariety = "Van"\nposition_m = [0, 30]\n'
    )
    path = tmp_path / "plan.toml"
    head = HILL.partition("[[tree]]")[0]
    path.write_text(f"{head}{trees}{next_door}{own}", encoding="utf-8")
    study = studied(path)
    network = study.network
    receivers, donors = receivers_of(network), range(len(network.nodes))
    assert len(receivers) * len(donors) * network.open_start_h.shape[1] > TOGETHER
    table = donor_table(network, receivers, donors)
    for row, receiver in list(enumerate(receivers))[::5]:
        for donor in donors:
            alone = donor_table(network, [receiver], [donor])
            assert table.entries[row, donor] == alone.entries[0, 0]
            assert np.array_equal(table.bits[:, row, donor], alone.bits[:, 0, 0])
            assert table.reliability[row, donor] == alone.reliability[0, 0]
            assert table.effective_days[row, donor] == alone.effective_days[0, 0]
            assert table.unknown[row, donor] == alone.unknown[0, 0]
    assert table.unknown.any() and (table.reliability > 0).any()
