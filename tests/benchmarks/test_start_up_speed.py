"""Start-up and the main job, as multiples of what Python and the libraries cost anyway."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path


def test_help_against_an_empty_program(ratio: Callable, python: Callable) -> None:
    """Aim: within 3 times."""
    code = "from pollinet.cli import main; main(['--help'])"
    ratio("pollinet --help / python -c pass", python("-c", code), python("-c", "pass"), 15,
          aim="≤ 3")  # fmt: skip


def test_check_against_importing_its_libraries(
    tmp_path: Path, ratio: Callable, python: Callable
) -> None:
    """Aim: within 0.9 times; the catalogue is kept on disk from the first run on."""
    demo = [sys.executable, "-m", "pollinet", "demo", "--out", str(tmp_path)]
    subprocess.run(demo, check=True, capture_output=True)
    imports = "import numpy, networkx, scipy.optimize, matplotlib.figure"
    ratio(
        "pollinet check on the demo / importing numpy, networkx, scipy.optimize, matplotlib",
        python("-m", "pollinet", "check", str(tmp_path / "plan.toml"), ok=(1,)),
        python("-c", imports),
        aim="≤ 0.9",
    )
