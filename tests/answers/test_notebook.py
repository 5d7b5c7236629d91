"""The Python interface: answers, their JSON read back, frames, changed gardens, what is refused."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from gardens import O1, O2, O3, O8, written
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from told import told_whole

import pollinet
from pollinet.answers import KINDS, kind_of
from pollinet.answers.base import Answer, columns_of
from pollinet.answers.graph import graph_of
from pollinet.demo import demo_files, write_demo
from pollinet.notebook import Garden
from pollinet.study import Study

Run = Callable[..., Any]

QUESTIONS: dict[str, Callable[[Garden], Answer]] = {
    "check": lambda garden: garden.check(),
    "check, warmer": lambda garden: garden.check(warmer_c=1.5),
    "cover": lambda garden: garden.cover(trade_off=True),
    "cover, none": lambda garden: garden.cover(level=0.999, never=[_any_scion(garden)]),
    "donors": lambda garden: garden.donors(garden.study.plan.limbs[0].id),
    "pollinizer": lambda garden: garden.pollinizer(),
    "triploids": lambda garden: garden.triploids(),
    "without": lambda garden: garden.without(garden.study.plan.limbs[-1].id),
    "without, each": lambda garden: garden.without(),
    "bloom": lambda garden: garden.bloom(),
    "chill": lambda garden: garden.chill(warmer_c=2),
    "season": lambda garden: garden.season(most=1),
    "balance": lambda garden: garden.balance(),
    "diagnose": lambda garden: garden.diagnose(garden.study.plan.limbs[0].id, year=2024),
    "graph": lambda garden: graph_of(garden.study, garden.graph()),
    "suits": lambda garden: garden.suits(*_some_varieties(garden)),
    "work": lambda garden: garden.work(),
}


def _any_scion(garden: Garden) -> str:
    name = garden.study.plan.scions[0].variety if garden.study.plan.scions else None
    return "Idared" if name is None else f"{name.name}, {name.species}"


def _some_varieties(garden: Garden) -> tuple[str, str]:
    """A variety that stands in the garden, and one of its fruit that does not."""
    planted = garden.study.plan.limbs[0].variety
    here = {limb.variety for limb in garden.study.plan.limbs}
    others = (v for v in garden.study.known if v.species == planted.species and v not in here)
    return planted.name, min(others).name


@pytest.fixture(scope="module")
def gardens(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Garden]:
    plans = {"demo": write_demo(tmp_path_factory.mktemp("demo"), demo_files())}
    for name, parts in {"O1": O1, "O2": O2, "O3": O3, "O8": O8}.items():
        plans[name] = written(tmp_path_factory.mktemp(name), *parts)
    return {name: pollinet.open(plan) for name, plan in plans.items()}


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("name", ["demo", "O1", "O2", "O3", "O8"])
def test_an_answer_read_back_is_the_same(
    question: str, name: str, gardens: dict[str, Garden]
) -> None:
    garden = gardens[name]
    if question == "cover, none" and not garden.study.plan.scions:
        pytest.skip("this garden has no scions that could be refused")
    answer = QUESTIONS[question](garden)
    told_whole(answer)


def test_another_answer_is_not_read(gardens: dict[str, Garden]) -> None:
    garden = gardens["demo"]
    with pytest.raises(ValueError, match="pollinet/chill/1"):
        type(garden.chill()).from_json(garden.check().to_json())


def test_every_kind_has_documented_columns_and_its_own_schema() -> None:
    for name in KINDS:
        kind = kind_of(name)
        made = kind.schema()
        assert name == kind.NAME and made["$id"] == f"urn:pollinet/{name}/1"
        Draft202012Validator.check_schema(made)
        assert kind.ROW is None or columns_of(kind.ROW)
        for part in made.get("$defs", {}).values():
            assert set(part["required"]) == set(part["properties"])


def test_frames_say_what_the_json_says(gardens: dict[str, Garden]) -> None:
    answer = gardens["demo"].check()
    frame = answer.to_frame().set_index("id")
    for limb in json.loads(answer.to_json())["limbs"]:
        row = frame.loc[limb["id"]]
        assert row["variety"] == limb["variety"] and row["reliability"] == limb["reliability"]
        assert row["bloom_full"] == limb["bloom"]["full"]
        assert row["donors"] == "; ".join(donor["id"] for donor in limb["donors"])


def test_bloom_has_a_row_for_each_variety_and_winter(gardens: dict[str, Garden]) -> None:
    garden = gardens["demo"]
    frame, study = garden.bloom().to_frame(), garden.study
    assert study.winters is not None
    varieties = {(name.species, name.name) for name in study.bloom.varieties}
    assert len(frame) == len(varieties) * len(study.winters.harvest_years)
    assert set(frame["harvest_year"]) == set(study.winters.harvest_years)
    assert set(zip(frame["species"], frame["variety"], strict=True)) == varieties
    for stage in ("start", "full", "end"):
        assert (frame[f"{stage}_early"] <= frame[stage]).all()
        assert (frame[stage] <= frame[f"{stage}_late"]).all()
    assert (frame["start"] <= frame["full"]).all() and (frame["full"] <= frame["end"]).all()
    years = [day.year for day in frame["full"]]
    assert years == frame["harvest_year"].tolist()


def test_the_command_and_python_say_the_same(
    gardens: dict[str, Garden], tmp_path: Path, pollinet: Run
) -> None:
    plan = write_demo(tmp_path, demo_files())
    garden = gardens["demo"]
    for words, answer in (
        (("check", plan), garden.check()),
        (("cover", plan), garden.cover()),
        (("donors", plan, "C-mid"), garden.donors("C-mid")),
        (("without", plan, "neighbour-1"), garden.without("neighbour-1")),
        (("pollinizer", plan), garden.pollinizer()),
        (("season", plan), garden.season()),
        (("balance", plan), garden.balance()),
        (("diagnose", plan, "C-mid", "--year", "2024"), garden.diagnose("C-mid", year=2024)),
        (("graph", plan), graph_of(garden.study, garden.graph())),
        (("suits", plan, "Kordia", "Sam"), garden.suits("Kordia", "Sam")),
    ):
        said = pollinet(*words, "--json", "--csv", tmp_path / f"{words[0]}.csv")
        made_of = {"made_of": said.data["made_of"]}
        assert said.data == json.loads(answer.to_json()) | made_of
        assert said.code == answer.exit_code or words[0] == "donors"
        rows = pd.read_csv(tmp_path / f"{words[0]}.csv")
        assert len(rows) == len(answer.rows())


def test_a_changed_garden_is_a_new_one(gardens: dict[str, Garden]) -> None:
    garden = gardens["demo"]
    assert garden.check().exit_code == 1
    changed = garden.with_limb("C-mid", variety="Kordia")
    assert changed.check().exit_code == 0
    assert garden.check().exit_code == 1
    assert len(changed.lose("C-mid").check().limbs) == 7
    added = garden.with_limb("C-new", tree="cherry", variety="Sam")
    assert {limb.id for limb in added.check().limbs} >= {"C-new", "C-mid"}
    assert added.check().exit_code == 0
    near = garden.with_neighbour("n2", species="sweet cherry", variety="Sam", distance_m=10)
    assert near.check().exit_code == 0
    assert garden.warmer(2).check().limbs != garden.check().limbs


def test_what_is_wrong_is_raised_with_all_findings(
    gardens: dict[str, Garden], tmp_path: Path
) -> None:
    (tmp_path / "plan.toml").write_text('[site]\nlatitude = "x"\n[aim]\nlevel = 3\n')
    with pytest.raises(pollinet.BadPlan) as raised:
        pollinet.open(str(tmp_path / "plan.toml"))
    assert len(raised.value.findings) >= 2
    assert all(str(found.message) in str(raised.value) for found in raised.value.findings)
    garden = gardens["demo"]
    with pytest.raises(pollinet.BadQuestion, match="C-mid"):
        garden.donors("C-mi")
    with pytest.raises(pollinet.BadQuestion, match="Kordia"):
        garden.suits("Sam", "Kordai")
    with pytest.raises(pollinet.BadQuestion, match="year"):
        garden.diagnose("C-mid")
    with pytest.raises(pollinet.BadQuestion, match="candidates"):
        garden.cover(must=["Nobody"])
    with pytest.raises(pollinet.WrongChange, match="Kordia"):
        garden.with_limb("C-mid", variety="Kordja")


def test_without_a_plan() -> None:
    # Gala S2S5 and Cox's Orange Pippin S5S9 share S5: half of the pollen passes, both ways.
    answer = pollinet.cross("apple", "Cox's Orange Pippin", "Gala")
    assert (answer.verdict, answer.fraction, answer.accepted) == ("half", 0.5, ("S9",))
    assert answer.other_way is not None and answer.other_way.accepted == ("S2",)
    assert type(answer).from_json(answer.to_json()) == answer
    frame = answer.to_frame()
    assert list(frame["male"]) == ["Cox's Orange Pippin", "Gala"]
    assert list(frame.columns) == answer.columns() and "\n" not in repr(answer)
    apples = pollinet.varieties("apple")
    assert apples["variety"].is_unique and set(apples["species"]) == {"apple"}
    triploids = pollinet.varieties("apple", where=["ploidy=3"])
    assert "Jonagold" in set(triploids["variety"]) and set(triploids["ploidy"]) == {3}
    for question in (
        lambda: pollinet.cross("apple", "Gala", "No Such Apple"),
        lambda: pollinet.varieties("aple pie"),
        lambda: pollinet.varieties("apple", where=["colour=red"]),
    ):
        with pytest.raises(pollinet.BadQuestion):
            question()


def test_the_section_of_the_readme_runs(
    checkout: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (checkout / "README.md").read_text(encoding="utf-8")
    (code,) = re.findall(r"```python\n(.*?)```", text, flags=re.S)
    write_demo(tmp_path / "pollinet-demo", demo_files())
    monkeypatch.chdir(tmp_path)
    # The whole catalogue is chosen from in the examples of the commands.
    every = Study.catalogue_scions
    monkeypatch.setattr(Study, "catalogue_scions", lambda study: every(study)[::20])
    exec(compile(code, "README.md", "exec"), {})


def test_the_graph_and_the_calendar(gardens: dict[str, Garden]) -> None:
    garden = gardens["demo"]
    graph = garden.graph()
    assert set(graph.predecessors("C-mid")) == {"C-top"}
    axes = garden.draw_calendar()
    assert axes.get_title() or axes.figure.get_suptitle() or axes.texts


@pytest.fixture(scope="module")
def typed(gardens: dict[str, Garden]) -> Garden:
    return gardens["O8"]


@settings(max_examples=30, deadline=None)
@given(st.floats(1e-6, 1), st.booleans())
def test_levels_of_any_kind_read_back(typed: Garden, level: float, half: bool) -> None:
    study = typed.study
    aim = replace(study.plan.aim, level=level, half_counts=half)
    answer = Garden(replace(study, plan=replace(study.plan, aim=aim))).check()
    assert type(answer).from_json(answer.to_json()) == answer


def test_a_list_of_parts_is_its_count_in_a_frame_also_where_it_is_empty(
    gardens: dict[str, Garden],
) -> None:
    for garden in gardens.values():
        for limb, row in zip(garden.triploids().limbs, garden.triploids().rows(), strict=True):
            assert row["donor_served_by"] == len(limb.donor_served_by)
