"""Standard output holds the answer and nothing else, whatever libraries in C print."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

from pollinet.demo import demo_files, write_demo


def test_what_c_libraries_print_stays_out_of_the_answer() -> None:
    # The C library's own output, in a process of its own; flushed late, as C does at the end.
    code = (
        "import ctypes, pollinet.cli as cli\n"
        "def noisy(words):\n"
        "    c = ctypes.CDLL(None)\n"
        "    c.puts(b'debugging at once')\n"
        "    c.fflush(None)\n"
        "    print('the answer')\n"
        "    c.puts(b'debugging at the end')\n"
        "    return 0\n"
        "cli._run = noisy\n"
        "raise SystemExit(cli.main())\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    assert run.stdout == b"the answer" + os.linesep.encode()


def test_json_is_json_where_the_solver_repairs_a_solution(tmp_path: Path) -> None:
    # HiGHS 1.12 prints a line of its debugging for each solution of this search that it repairs:
    # found by trying parts of the catalogue.
    plan = write_demo(tmp_path, demo_files())
    code = (
        "import pollinet.study.garden as garden, pollinet.cli as cli\n"
        "every = garden.Study.catalogue_scions\n"
        "garden.Study.catalogue_scions = lambda study: every(study)[2::20]\n"
        "raise SystemExit(cli.main())\n"
    )
    words = ["--from", "catalogue", "--donors", "2", "--level", "0.9", "--never", "Sam", "--json"]
    run = subprocess.run(
        [sys.executable, "-c", code, "cover", plan, *words], capture_output=True, timeout=300
    )
    assert run.returncode == 1
    assert json.loads(run.stdout)["schema"] == "pollinet/cover/1"
