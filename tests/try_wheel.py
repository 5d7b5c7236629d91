"""Tries the wheel as a grower would get it, with the newest and the lowest libraries allowed.

`python tests/try_wheel.py [FOLDER …]` builds the wheel and makes two fresh environments in a
temporary folder: one with the newest libraries, and one that proves the lower bounds of
`pyproject.toml`, with each `>=X` of the program and of its extras `fetch` and `page` as `==X`. It
runs the commands below on the demo in both. With folders of tests it installs the extra `test` at
its lowest too, and runs these tests. Not part of the suite: it downloads, and takes minutes.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
import tomllib
import venv
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable, Iterable
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[1]
PLAN = "pollinet-demo/plan.toml"

EXTRAS = ("fetch", "page")
"""Extras that are installed with it; `towns` is large, and has nothing but data."""

NOISE = re.compile(r"Traceback|\w*Warning:")
"""What a library that does not fit says on standard error."""


def pinned(requirement: str) -> str:
    """`name>=X` as `name==X`; a requirement without a lower bound is a fault."""
    bound = re.fullmatch(r"([\w-]+)>=([\w.]+)(?:,[^,]+)*", requirement)
    if bound is None:
        raise SystemExit(f"{requirement}: no lower bound to be proven")
    return "{}=={}".format(*bound.groups())


def lowest(requirements: Iterable[str]) -> list[str]:
    """The lowest set that some requirements allow, shown and sorted."""
    pins = sorted(map(pinned, requirements))
    print("\n".join(pins), flush=True)
    return pins


def programs(here: Path) -> Path:
    """Where the programs of the environment stand."""
    return here / "venv" / ("Scripts" if os.name == "nt" else "bin")


def starts(name: str, head: bytes) -> Callable[[str, Path], bool]:
    """Whether a file was written that starts so."""
    return lambda _, here: (here / name).read_bytes().lstrip().startswith(head)


def holds(word: str) -> Callable[[str, Path], bool]:
    """Whether the answer names a word."""
    return lambda answer, _: word in answer


def is_json(schema: str) -> Callable[[str, Path], bool]:
    """Whether the answer is JSON of this schema."""
    return lambda answer, _: json.loads(answer)["schema"].startswith(f"pollinet/{schema}/")


def drawn(answer: str, here: Path) -> bool:
    """Whether every kind of chart is there, each as well-formed SVG."""
    pictures = sorted((here / "charts").glob("*.svg"))
    return len(pictures) > 8 and all(ElementTree.parse(one) for one in pictures)


def numbered(answer: str, here: Path) -> bool:
    """Whether the first page of the report says of how many; fpdf2 2.8.1 leaves the number out."""
    code = "import pypdf; print(pypdf.PdfReader('report.pdf').pages[0].extract_text())"
    page = subprocess.run(
        [programs(here) / "python", "-c", code], cwd=here, capture_output=True, text=True
    )
    return re.search(r"1 of \d+", page.stdout) is not None


def donor_graph(answer: str, here: Path) -> bool:
    """Whether the file of the graph is well-formed and has edges."""
    names = "{http://graphml.graphdrawing.org/xmlns}"
    return ElementTree.parse(here / "garden.graphml").find(f".//{names}edge") is not None


SMOKE: tuple[tuple[str, int, Callable[[str, Path], bool]], ...] = (
    ("demo", 0, holds("7 of 8 limbs")),
    (f"check {PLAN}", 1, holds("C-mid")),
    (f"check {PLAN} --json", 1, is_json("check")),
    (f"check {PLAN} --csv rows.csv --warmer 1.5", 1, starts("rows.csv", b"id,tree,variety")),
    (f"check {PLAN} --language de", 1, holds("C-mid")),
    (f"cover {PLAN}", 0, holds("Graft")),
    (f"cover {PLAN} --from catalogue --json", 0, is_json("cover")),
    (f"calendar {PLAN} --out calendar.svg", 0, starts("calendar.svg", b"<?xml")),
    (f"calendar {PLAN} --out calendar.png", 0, starts("calendar.png", b"\x89PNG")),
    (f"chart {PLAN} --out charts", 0, drawn),
    (f"report {PLAN} --out report.html", 0, starts("report.html", b"<!DOCTYPE html>")),
    (f"report {PLAN} --out report.pdf", 0, numbered),
    (f"graph {PLAN} --out garden.graphml", 0, donor_graph),
    (f"graph {PLAN} --json", 0, is_json("graph")),
    (f"labels {PLAN} --out labels.pdf", 0, starts("labels.pdf", b"%PDF-")),
    (f"work {PLAN} --out work.ics", 0, starts("work.ics", b"BEGIN:VCALENDAR")),
    (f"donors {PLAN} C-mid", 1, holds("Garnet")),
    (f"without {PLAN}", 1, holds("C-mid")),
    ("variety Regina", 0, holds("Regina")),
    ("cross Van Regina", 0, holds("Regina")),
    (f"record {PLAN} C-mid --stage full --date 2026-04-12", 0, holds("2026")),
    (f"plan rename {PLAN} C-mid C-middle", 0, holds("C-middle")),
    ("collection pollinet-demo --map map.svg", 1, starts("map.svg", b"<?xml")),
    (f"page {PLAN} --take-along garden.html", 0, starts("garden.html", b"<!DOCTYPE html>")),
    ("completion bash", 0, holds("complete")),
)
"""A command, the exit code and the answer that it must have."""


def fault(
    program: Path, here: Path, words: str, code: int, right: Callable[[str, Path], bool]
) -> str:
    """What is wrong with a command; empty where it does what it should."""
    run = subprocess.run([program, *words.split()], cwd=here, capture_output=True, text=True)
    if run.returncode != code:
        return f"ended with {run.returncode} in place of {code}\n{run.stderr}"
    if NOISE.search(run.stderr):
        return run.stderr
    return "" if right(run.stdout, here) else f"not the answer that it should be\n{run.stdout}"


def built(folder: Path) -> Path:
    """The wheel of this checkout."""
    build = [sys.executable, "-m", "build", "--wheel", "--outdir", str(folder), str(CHECKOUT)]
    subprocess.run(build, check=True, stdout=subprocess.DEVNULL)
    (wheel,) = folder.glob("*.whl")
    return wheel


def environment(here: Path, requirements: Iterable[str]) -> list[str | Path]:
    """A fresh environment with these, from wheels alone; gives the words that install more."""
    here.mkdir()
    venv.create(here / "venv", with_pip=True)
    python = programs(here) / "python"
    pip = [python, "-m", "pip", "install", "--quiet", "--only-binary", ":all:"]
    subprocess.run([*pip, *requirements], check=True)
    return pip


def faults_in(here: Path, called: str) -> int:
    """Run every command in an environment; how many of them are wrong."""
    faults = 0
    for words, code, right in SMOKE:
        wrong = fault(programs(here) / "pollinet", here, words, code, right)
        faults += bool(wrong)
        told = "FAILS" if wrong else "right"
        print(f"{told}  {called}: pollinet {words}\n{wrong}".rstrip(), flush=True)
    return faults


def main(folders: list[str]) -> int:
    """Make the environments, run the commands; returns the exit code."""
    project = tomllib.loads((CHECKOUT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    oldest = project["requires-python"].removeprefix(">=")
    if sys.version_info[:2] != tuple(map(int, oldest.split("."))):
        raise SystemExit(
            f"The lowest versions have wheels for Python {oldest} only; run it with that."
        )
    extras = project["optional-dependencies"]
    with tempfile.TemporaryDirectory() as name:
        wheel = built(Path(name))
        newest = Path(name) / "newest"
        environment(newest, [f"{wheel}[{','.join(EXTRAS)}]"])
        faults = faults_in(newest, "newest")
        here = Path(name) / "lowest"
        wanted = [*project["dependencies"], *(one for extra in EXTRAS for one in extras[extra])]
        pip = environment(here, [*lowest(wanted), str(wheel)])
        faults += faults_in(here, "lowest")
        if folders:
            # On top of the others: what only the tests need may ask for newer ones of these.
            subprocess.run([*pip, *lowest(extras["test"])], check=True)
            # Old libraries tell of what they no longer like in new ones.
            pytest = [programs(here) / "python", "-m", "pytest", "-W", "default", *folders]
            faults += subprocess.run(pytest, cwd=CHECKOUT).returncode != 0
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
