"""Gardens built by hand or by chance for the tests of the network."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from pollinet.domain import Aim, NetworkInput, Node, VarietyId, Verdict

SPECIES = "pear"


def node(
    name: str,
    kind: str = "limb",
    *,
    clone: str | None = None,
    must_crop: bool = True,
    cost: float = 1.0,
    species: str = SPECIES,
) -> Node:
    return Node(
        id=name,
        kind=kind,  # type: ignore[arg-type]
        variety=VarietyId(species, name),
        clone=clone or name,
        must_crop=must_crop and kind != "neighbour",
        cost=cost,
    )


def verdict(donor: Node, receiver: Node, answer: str, fraction: float | None = None) -> Verdict:
    shares = {"yes": 1.0, "half": 0.5, "no": 0.0, "unknown": None}
    return Verdict(
        donor=donor.variety,
        receiver=receiver.variety,
        answer=answer,  # type: ignore[arg-type]
        fraction=shares[answer] if fraction is None else fraction,
        probability={"yes": 1.0, "half": 1.0, "no": 0.0, "unknown": 0.5}[answer],
        code="test",
    )


def garden(
    nodes: Sequence[Node],
    days: Mapping[str, Sequence[tuple[float, float]]],
    answers: Mapping[tuple[str, str], str],
    *,
    aim: Aim | None = None,
    default: str | None = None,
    quality: np.ndarray | None = None,
    flight: np.ndarray | None = None,
    proximity: np.ndarray | None = None,
    winters: int | None = None,
) -> NetworkInput:
    """A network from typed days, both ends counted, one (first, last) for each scenario.

    `default` answers every pair of different nodes that `answers` leaves out.
    """
    place = {n.id: i for i, n in enumerate(nodes)}
    bloom = np.array([days[n.id] for n in nodes], dtype=float)
    start, end = bloom[..., 0] * 24.0, (bloom[..., 1] + 1) * 24.0
    table = dict(answers)
    if default is not None:
        table = {(a, b): default for a in place for b in place if a != b} | table
    shape = start.shape
    return NetworkInput(
        nodes=tuple(nodes),
        open_start_h=start,
        open_end_h=end,
        shed_start_h=start.copy(),
        shed_end_h=end.copy(),
        verdicts={
            (place[a], place[b]): verdict(nodes[place[a]], nodes[place[b]], answer)
            for (a, b), answer in table.items()
        },
        proximity=np.ones((len(nodes), len(nodes))) if proximity is None else proximity,
        chill_quality=np.ones(shape) if quality is None else quality,
        flight_share=np.ones(shape) if flight is None else flight,
        aim=aim or Aim(),
        winters=shape[1] if winters is None else winters,
    )


def random_garden(
    seed: int,
    *,
    limbs: int = 4,
    neighbours: int = 1,
    candidates: int = 6,
    scenarios: int = 6,
    spread: float = 4.0,
    aim: Aim | None = None,
    costs: bool = False,
    pollen_only: float = 0.3,
) -> NetworkInput:
    """A garden by chance: clones, unknown and half verdicts, pollen-only wood, poor chill."""
    rng = np.random.default_rng(seed)
    kinds = ["limb"] * limbs + ["neighbour"] * neighbours + ["candidate"] * candidates
    count = len(kinds)
    clones = rng.integers(0, max(2, count - 1), count)
    nodes = [
        node(
            f"{kind[0]}{i:04d}",
            kind,
            clone=f"v{clones[i]}",
            must_crop=not (kind == "candidate" and rng.random() < pollen_only),
            cost=float(rng.integers(1, 4)) if costs else 1.0,
        )
        for i, kind in enumerate(kinds)
    ]
    first = rng.normal(100, spread, count)[:, None] + rng.normal(0, 1, (count, scenarios))
    bloom = np.round(np.stack([first, first + rng.integers(6, 12, (count, 1))], axis=-1))
    bloom[rng.random((count, scenarios)) < 0.01] = np.nan
    names = [n.id for n in nodes]
    words = rng.choice(
        ["yes", "half", "no", "unknown"], p=[0.45, 0.25, 0.22, 0.08], size=(count, count)
    )
    # Limbs that serve each other leave nothing to search for.
    words[:limbs, :limbs] = np.where(rng.random((limbs, limbs)) < 0.8, "no", words[:limbs, :limbs])
    words[limbs : limbs + neighbours, :limbs] = "unknown"
    answers = {
        (names[i], names[j]): str(words[i, j])
        for i in range(count)
        for j in range(count)
        if i != j or rng.random() < 0.1
    }
    return garden(
        nodes,
        {name: bloom[i] for i, name in enumerate(names)},  # type: ignore[misc]
        answers,
        aim=aim,
        quality=np.where(rng.random((count, scenarios)) < 0.02, 0.3, 1.0),
        proximity=np.ones((count, count)),
    )


def candidates_of(network: NetworkInput) -> list[int]:
    return [i for i, n in enumerate(network.nodes) if n.kind == "candidate"]


def names(network: NetworkInput, chosen: Sequence[int]) -> list[str]:
    return [network.nodes[i].id for i in chosen]
