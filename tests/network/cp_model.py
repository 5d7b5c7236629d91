"""The cover problem as the design states it, for an independent solver: OR-tools CP-SAT.

One variable for every receiver and scenario, no learnt cuts, no bits: nothing in common with the
package but the input.
"""

from __future__ import annotations

import numpy as np

from pollinet.domain import NetworkInput


def viable_matrix(network: NetworkInput) -> np.ndarray:
    """Shape (donors, receivers, S), from the definitions; touching days share nothing."""
    count, scenarios = network.open_start_h.shape
    aim = network.aim
    out = np.zeros((count, count, scenarios), dtype=bool)
    for (d, r), verdict in network.verdicts.items():
        same = network.nodes[d].clone == network.nodes[r].clone
        if verdict.answer in ("no", "unknown") or (d != r and same):
            continue
        if d != r and verdict.answer == "half" and not aim.half_counts:
            continue
        with np.errstate(invalid="ignore"):
            shared = (
                np.minimum(network.shed_end_h[d], network.open_end_h[r])
                - np.maximum(network.shed_start_h[d], network.open_start_h[r])
            ) / 24
            long_enough = (shared > 0) & (shared >= (0 if d == r else aim.min_overlap_days - 1e-9))
        quality = np.minimum(network.chill_quality[d], network.chill_quality[r])
        out[d, r] = long_enough & (quality >= network.min_chill_quality)
    return out


def cp_optimum(network: NetworkInput, seconds: float = 60.0) -> float | None:
    """Smallest cost of a cover; None: there is none."""
    from ortools.sat.python import cp_model

    viable, nodes = viable_matrix(network), network.nodes
    scenarios = viable.shape[2]
    need = int(np.ceil(network.aim.level * scenarios - 1e-9))
    model = cp_model.CpModel()
    x = [
        model.new_bool_var(n.id) if n.kind == "candidate" else model.new_constant(1) for n in nodes
    ]
    for r, receiver in enumerate(nodes):
        if receiver.kind == "neighbour" or not receiver.must_crop:
            continue
        covered = []
        for s in range(scenarios):
            donors = np.flatnonzero(viable[:, r, s])
            z = model.new_bool_var(f"z{r}_{s}")
            if network.aim.donors == 1:
                model.add(sum(x[d] for d in donors) >= 1).only_enforce_if(z)
            else:
                clones = sorted({nodes[d].clone for d in donors})
                seen = []
                for clone in clones:
                    y = model.new_bool_var(f"y{r}_{s}_{clone}")
                    members = [x[d] for d in donors if nodes[d].clone == clone]
                    model.add(sum(members) >= 1).only_enforce_if(y)
                    seen.append(y)
                model.add(sum(seen) >= network.aim.donors).only_enforce_if(z)
            covered.append(z)
        model.add(sum(covered) >= need).only_enforce_if(x[r])
    model.minimize(
        sum(int(n.cost) * v for n, v in zip(nodes, x, strict=True) if n.kind == "candidate")
    )
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return solver.objective_value if status == cp_model.OPTIMAL else None
