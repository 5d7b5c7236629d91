"""How the time of `check` grows with the limbs of a plan that are all of one variety."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import process_time

import pytest
from ratios import Ratio

from pollinet.cli import main


def check_s(folder: Path, limbs: int) -> float:
    """CPU time of `check` on a plan that was not looked at before. [s]"""
    folder.mkdir()
    plan = folder / "plan.toml"
    site = "[site]\nlatitude = 47.2\nlongitude = 8.5\nelevation_m = 450\n"
    tree = '[[tree]]\nid = "t"\nspecies = "sweet cherry"\n'
    plan.write_text(
        site + tree
        + "".join(f'[[tree.limb]]\nid = "limb {i}"\nvariety = "Van"\n' for i in range(limbs))
    )  # fmt: skip
    begin = process_time()
    assert main(["check", str(plan)]) == 1
    return process_time() - begin


def test_limbs_of_one_variety(
    tmp_path: Path, tell: Callable[..., Ratio], capsys: pytest.CaptureFixture[str]
) -> None:
    check_s(tmp_path / "first", 3)
    times = {
        limbs: sorted(check_s(tmp_path / f"{limbs}-{again}", limbs) for again in range(3))[1]
        for limbs in (75, 150, 300)
    }
    assert "Van" in capsys.readouterr().out
    tell("check of 150 limbs of one variety / of 75, CPU", times[150] / times[75])
    tell("check of 300 limbs of one variety / of 150, CPU", times[300] / times[150], aim="≤ 2")
