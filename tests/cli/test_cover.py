"""`pollinet cover` with wishes, trade-offs, concessions and coming springs.

The gardens are the worked scenarios; what follows from a wish was worked out by hand from the
shared days: A–X1 8, A–X2 3, A–X3 7, B–X1 10, B–X2 6, B–X3 4, C–X1 3, C–X2 7, B–C 2.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from gardens import O1, O2, O3, O8, neighbour, scions, tree, variety, written

Run = Callable[..., Any]


@pytest.fixture
def o8(tmp_path: Path) -> Path:
    return written(tmp_path, *O8)


def sets(answer: Any) -> list[list[str]]:
    return sorted(sorted(chosen) for chosen in answer.data["alternatives"])


@pytest.mark.parametrize(
    ("wish", "expected"),
    [
        ((), [["X1"], ["X2"]]),
        (("--never", "X1"), [["X2"]]),
        (("--must", "X3"), [["X1", "X3"], ["X2", "X3"]]),
        (("--must", "X3", "--never", "x1"), [["X2", "X3"]]),
        (("--survive-loss",), [["X1", "X2"]]),
        (("--donors", "2"), [["X1", "X2"]]),
        (("--min-overlap", "4"), [["X1", "X2"], ["X2", "X3"]]),
        (("--min-overlap", "2.5"), [["X1"], ["X2"]]),
    ],
)
def test_wishes_on_o8(
    wish: tuple[str, ...], expected: list[list[str]], o8: Path, pollinet: Run
) -> None:
    answer = pollinet("cover", o8, *wish, "--json")
    assert answer.code == 0
    assert answer.data["status"] == "optimal"
    assert sets(answer) == expected
    assert pollinet("cover", o8, *wish).code == 0


def test_never_can_leave_a_limb_bare(o8: Path, pollinet: Run) -> None:
    answer = pollinet("cover", o8, "--never", "X1", "--never", "X2", "--json")
    assert answer.code == 1
    assert [miss["limb"] for miss in answer.data["uncovered"]] == ["C"]


def test_the_loss_that_cannot_be_survived_is_named(o8: Path, pollinet: Run) -> None:
    """Without X1 only X2 serves C (7 days); the other limbs have two donors."""
    words = ("cover", o8, "--survive-loss", "--never", "X1")
    answer = pollinet(*words, "--json")
    assert answer.code == 1
    misses = {miss["limb"]: miss for miss in answer.data["uncovered"]}
    assert misses["C"]["code"] == "one-loss"
    assert misses["C"]["nearest_miss"]["variety"] == "X2"
    assert misses["C"]["nearest_miss"]["reliability"] == 0.0
    said = " ".join(pollinet(*words).out.split())
    assert said.startswith("When X2 is lost, no choice of these varieties keeps C covered.")
    assert "C: without X2 it has a viable donor in 0 of 10 winters, whatever is grafted" in said


def test_a_limb_that_hangs_on_one_donor_is_covered_all_the_same(
    tmp_path: Path, pollinet: Run
) -> None:
    """R and K have only each other, and B nobody; without a loss K serves R in every spring."""
    parts = (
        tree("R B", spare=1),
        scions("K"),
        variety("R", "S1S3", [110, 120]),
        variety("B", "S3S6", [150, 160]),
        variety("K", "S3S6", [110, 120]),
    )
    plan = written(tmp_path, *parts)
    data = pollinet("cover", plan, "--survive-loss", "--json").data
    assert data["partial"] == ["K"]
    codes = {miss["limb"]: miss["code"] for miss in data["uncovered"]}
    assert (codes["R"], codes["K"]) == ("one-loss", "one-loss")
    said = " ".join(pollinet("cover", plan, "--survive-loss").out.split())
    assert said.startswith("No choice of these varieties gives B a donor")
    assert "When K is lost, no choice of these varieties keeps R covered." in said
    assert "Graft K: that covers R and K as long as no donor is lost" in said


def test_where_room_is_short_the_set_that_is_told_is_the_one_that_hangs(
    tmp_path: Path, pollinet: Run
) -> None:
    """One place: whichever of X and Y is grafted, R falls back when that one is lost."""
    parts = (
        tree("R", spare=1),
        neighbour("N", 20),
        scions("X Y"),
        variety("R", "S1S2", [110, 120]),
        variety("N", "S1S2", [110, 120]),
        variety("X", "S3S4", [110, 120]),
        variety("Y", "S5S6", [110, 120]),
    )
    words = ("cover", written(tmp_path, *parts), "--survive-loss", "--pollen-only")
    data = pollinet(*words, "X", "--pollen-only", "Y", "--json").data
    (miss,) = data["uncovered"]
    assert (miss["limb"], miss["code"]) == ("R", "one-loss-no-room")
    assert data["partial"] == [miss["nearest_miss"]["variety"]]


def test_a_loss_for_which_there_is_no_room_is_named(tmp_path: Path, pollinet: Run) -> None:
    garden = (tree("T F", spare=0), *O2[1:], scions("D1"), variety("D1", "S2S5", [108, 118]))
    plan = written(tmp_path, *garden)
    words = ("cover", plan, "--survive-loss", "--pollen-only", "D1")
    (miss,) = pollinet(*words, "--json").data["uncovered"]
    assert (miss["limb"], miss["code"]) == ("T", "one-loss-no-room")
    said = " ".join(pollinet(*words).out.split())
    assert "without F it has a viable donor in 0 of 10 winters; another donor could" in said


def test_the_level_is_that_of_the_wish(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O3)
    # H and L share enough days in 7 springs of 10.
    assert pollinet("cover", plan, "--level", "0.7", "--json").data["status"] == "nothing to add"
    assert pollinet("cover", plan, "--level", "0.71", "--json").data["added"] == ["K"]


def test_a_limb_for_pollen_only_needs_no_donor(tmp_path: Path, pollinet: Run) -> None:
    parts = (
        tree("T"),
        scions("G"),
        variety("T", "S1S2S3", [110, 120], ploidy=3),
        variety("G", "S4S5", [110, 120]),
    )
    plan = written(tmp_path, *parts)
    assert pollinet("cover", plan).code == 1
    answer = pollinet("cover", plan, "--pollen-only", "G", "--json")
    assert (answer.code, answer.data["added"]) == (0, ["G"])


def test_as_many_sets_are_listed_as_wished(o8: Path, pollinet: Run) -> None:
    data = pollinet("cover", o8, "--most", "1", "--json").data
    assert (len(data["alternatives"]), data["all_alternatives_listed"]) == (1, False)


def test_trade_off_in_numbers_and_days(o8: Path, pollinet: Run) -> None:
    answer = pollinet("cover", o8, "--trade-off", "--json").data
    both = answer["trade_off"]
    numbers = [(row["most_added"], row["reliability"]) for row in both["by_number"]]
    assert numbers == [(0, 0), (1, 1)]
    assert both["by_number"][1]["added"] == answer["added"]
    days = {row["min_overlap_days"]: len(row["added"]) for row in both["by_days"]}
    # From 4 days on X1 fails C and X2 fails A; at 2 days B and C serve each other.
    assert days == {1: 1, 2: 1, 3: 1, 4: 2, 5: 2}
    text = pollinet("cover", o8, "--trade-off").out
    assert "Worst limb" in text and "Smallest set" in text


def test_concessions_are_the_smallest_of_their_kind(tmp_path: Path, pollinet: Run) -> None:
    only_x3 = [part if "[[scion]]" not in part else scions("X3") for part in O8]
    data = pollinet("cover", written(tmp_path, *only_x3), "--json").data
    told = {c["kind"]: (c["value"], c["added"]) for c in data["concessions"]}
    # C never meets X3, so no level helps; with 2 days B serves C and C serves B; A needs X3.
    assert told["days"] == (2, ["X3"])
    assert "level" not in told and "spare" not in told
    no_scion = [part for part in O3 if "[[scion]]" not in part]
    answer = pollinet("cover", written(tmp_path, *no_scion), "--json")
    told = {c["kind"]: c["value"] for c in answer.data["concessions"]}
    assert told["level"] == pytest.approx(0.7)
    full = [part.replace("spare_limbs = 3", "spare_limbs = 0") for part in O1]
    plan = written(tmp_path, *full)
    told = {c["kind"]: c for c in pollinet("cover", plan, "--json").data["concessions"]}
    assert (told["spare"]["value"], told["spare"]["added"]) == (1, ["D3"])
    assert "It would work with 1 more limb" in pollinet("cover", plan).out


def test_coming_springs_of_o1(tmp_path: Path, pollinet: Run) -> None:
    # Grafts on a bearing tree bear after 2 to 3 years (4-H, "Fruit Tree Grafting").
    plan = written(tmp_path, *O1)
    answer = pollinet("cover", plan, "--years", "--spring", "2026", "--json")
    springs = {limb["variety"]: limb["springs"] for limb in answer.data["springs"]}
    d1 = [(s["spring"], s["cautious"], s["hopeful"]) for s in springs["D1"]]
    assert d1 == [(2027, 0, 0), (2028, 0, 1), *((year, 1, 1) for year in range(2029, 2033))]
    assert [s["blooms"] for s in springs["D3"]] == ["no", "perhaps", *["yes"] * 4]
    assert [s["hopeful"] for s in springs["T"]] == [1] * 6
    text = pollinet("cover", plan, "--years", "--spring", "2026").out
    assert "0–10" in text and "young" in text and "4-H" in text


def test_a_young_limb_of_the_plan_blooms_later(tmp_path: Path, pollinet: Run) -> None:
    dated = tree("A B").replace('id = "B"\n', 'id = "B"\ngrafted = 2025\n')
    parts = (dated, variety("A", "S1S2", [110, 120]), variety("B", "S3S4", [110, 120]))
    answer = pollinet("cover", written(tmp_path, *parts), "--years", "--spring", "2026", "--json")
    springs = {limb["id"]: limb["springs"] for limb in answer.data["springs"]}
    assert [s["blooms"] for s in springs["B"]] == ["perhaps", *["yes"] * 5]
    assert [s["cautious"] for s in springs["A"]] == [0, 1, 1, 1, 1, 1]
    assert [s["hopeful"] for s in springs["A"]] == [1] * 6


def test_equal_sets_are_told_apart_by_vigour(tmp_path: Path, pollinet: Run) -> None:
    # Vigour of the three as published (NE-183 trial): Honeycrisp and Braeburn low, Shizuka high.
    parts = (
        tree("Honeycrisp"),
        scions("Shizuka Braeburn"),
        variety("Honeycrisp", "S1S2", [110, 120], ploidy=2),
        variety("Shizuka", "S3S4", [110, 120], ploidy=2, pollen_ok=True),
        variety("Braeburn", "S3S4", [110, 120], ploidy=2),
    )
    data = pollinet("cover", written(tmp_path, *parts), "--json").data
    assert data["alternatives"] == [["Braeburn"], ["Shizuka"]]


def test_wrong_names_are_told_all_at_once(tmp_path: Path, pollinet: Run) -> None:
    ill = [part.replace('"X1"\n', '"X1"\nblocked = "canker"\n', 1) if "[[scion]]" in part else part
           for part in O8]  # fmt: skip
    plan = written(tmp_path, *ill)
    wishes = ("--must", "X1", "--never", "nobody", "--pollen-only", "X4")
    answer = pollinet("cover", plan, *wishes, "--json")
    assert answer.code == 2
    places = {f["place"]: f["cure"] for f in answer.data["findings"]}
    assert set(places) == {"--must", "--never", "--pollen-only"}
    assert "canker" in places["--must"]
    # What cannot be chosen anyhow need not be forbidden.
    assert pollinet("cover", plan, "--never", "X1").code == 0
    assert pollinet("cover", plan, "--level", "2").code == 2


def test_the_neighbour_makes_all_wishes_idle(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O8, neighbour("N", 14))
    assert pollinet("cover", plan, "--json").data["status"] == "nothing to add"
    lone = pollinet("cover", plan, "--survive-loss", "--json")
    # N may be felled: then X1 or X2 is needed, and with N either may be lost as well.
    assert sets(lone) == [["X1"], ["X2"]]


@pytest.mark.parametrize(
    ("others", "nearest"),
    [
        ("short early far same unsure", "short"),
        ("far early same unsure", "early"),
        ("far unsure same", "unsure"),
        ("far same", "far"),
        ("same", "same"),
    ],
)
def test_check_and_cover_name_the_same_nearest_miss(
    others: str, nearest: str, tmp_path: Path, pollinet: Run
) -> None:
    """R blooms on days 110 to 120; in the order of nearness, by hand."""
    unknown = '[[variety]]\nspecies = "apple"\nname = "{}"\nbloom_days = {}\nbloom_sd_days = 0\n'
    known = {
        "short": (variety("short", "S3S4", [100, 111]), 10),
        "early": (variety("early", "S3S4", [95, 105]), 10),
        "far": (variety("far", "S3S4", [110, 120]), 400),
        # Never in flower with R, whatever its alleles are.
        "unsure": (unknown.format("unsure", [60, 70]), 10),
        "same": (variety("same", "S1S2", [110, 120]), 10),
    }
    parts = [tree("R"), variety("R", "S1S2", [110, 120])]
    for name in reversed(others.split()):
        parts += [known[name][0], neighbour(name, known[name][1])]
    plan = written(tmp_path, *parts)
    (miss,) = pollinet("cover", plan, "--json").data["uncovered"]
    assert miss["nearest_miss"]["variety"] == nearest
    (limb,) = pollinet("check", plan, "--json").data["limbs"]
    assert limb["reasons"][0]["text"].startswith(f"{nearest}:")


# --- what is proven --------------------------------------------------------------------------


def test_a_search_that_is_stopped_names_a_cover_and_its_gap(tmp_path: Path, pollinet: Run) -> None:
    # By hand: X1 or X2 serves all, so that the cheapest set costs 2. Unequal costs lead to HiGHS,
    # which does not get anywhere in so short a time.
    costs = scions("X1 X2 X3").replace('"X1"', '"X1"\ncost = 2').replace('"X2"', '"X2"\ncost = 3')
    plan = written(tmp_path, *(costs if "[[scion]]" in part else part for part in O8))
    whole = pollinet("cover", plan, "--json").data
    assert (whole["added"], whole["proof"]["bound"], whole["proof"]["gap"]) == (["X1"], 2, 0)
    hurried = pollinet("cover", plan, "--time-limit", "1e-9", "--json")
    assert (hurried.code, hurried.data["status"]) == (0, "time limit")
    proof, cost = hurried.data["proof"], {"X1": 2, "X2": 3, "X3": 1}
    found = sum(cost[name] for name in hurried.data["added"])
    assert proof["bound"] <= 2 <= found
    assert proof["gap"] == found - proof["bound"] > 0
    text = " ".join(pollinet("cover", plan, "--time-limit", "1e-9").out.split())
    assert f"no set costs less than {proof['bound']:g}, the one found costs {found}" in text


def test_what_is_proven_of_a_limb_that_stays_bare(o8: Path, pollinet: Run) -> None:
    some = pollinet("cover", o8, "--never", "X1", "--never", "X2").out
    assert (
        "with the 1 candidate grafted, C would still have too few winters with a donor"
        in " ".join(some.split())
    )
    assert "no smaller set serves the other limbs" in " ".join(some.split())
    none = pollinet("cover", o8, *(word for x in ("X1", "X2", "X3") for word in ("--never", x))).out
    assert "there is no candidate that could help A, B or C" in none
    assert "no smaller set" not in none


def test_what_is_proven_where_no_limb_is_to_spare(tmp_path: Path, pollinet: Run) -> None:
    full = [part.replace("spare_limbs = 3", "spare_limbs = 0") for part in O1]
    text = pollinet("cover", written(tmp_path, *full)).out
    assert "no choice that there is room for covers more limbs" in text
    assert "no smaller set" not in text


def test_grafting_is_meant_for_the_coming_spring(
    o8: Path, pollinet: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Autumn(date):
        @classmethod
        def today(cls) -> Autumn:
            return cls(2026, 11, 25)

    monkeypatch.setattr("pollinet.cli.cover.date", Autumn)
    assert "Grafted in spring 2027" in pollinet("cover", o8, "--years").out


def test_another_kind_of_fruit_is_no_nearest_miss(tmp_path: Path, pollinet: Run) -> None:
    # Two plums that never meet; the apples bloom with the first and cannot serve it.
    plums = [variety("P", "S1S2", [110, 120]), variety("Q", "S3S4", [150, 160])]
    text = tree("P Q").replace('"tree"', '"plums"') + "".join(plums)
    plan = written(tmp_path, *O1, text.replace('"apple"', '"Japanese plum"'))
    bare = {one["limb"]: one for one in pollinet("cover", plan, "--json").data["uncovered"]}
    told = {limb["id"]: limb for limb in pollinet("check", plan, "--json").data["limbs"]}
    for name, other in (("P", "Q"), ("Q", "P")):
        assert bare[name]["nearest_miss"]["variety"] == other
        # `check` names the same one for the same reason, first of all.
        assert told[name]["reasons"][0]["code"] == bare[name]["code"]
        assert told[name]["reasons"][0]["text"].startswith(other)


# --- what nobody knows -----------------------------------------------------------------------

OPEN = '[[variety]]\nspecies = "apple"\nname = "{}"\nbloom_days = [110, 120]\nbloom_sd_days = 0\n'
"""An apple whose alleles nobody knows, in bloom with all others of these gardens."""


def test_what_is_only_likely_is_told_as_likely(tmp_path: Path, pollinet: Run) -> None:
    """By hand: U may be S1S2 as R is, so it is a likely donor of R; X is a sure one of R.

    Nothing known of U: one donor may have its alleles, two of other alleles cannot both.
    """
    parts = (
        tree("R"), scions("U X"), variety("R", "S1S2", [110, 120]), OPEN.format("U"),
        variety("X", "S3S7", [110, 120]),
    )  # fmt: skip
    plan = written(tmp_path, *parts)
    likely = pollinet("cover", plan, "--never", "X", "--json").data
    assert (likely["added"], likely["limbs_sure"], likely["limbs_covered"]) == (["U"], 0, 1)
    text = " ".join(pollinet("cover", plan, "--never", "X").out.split())
    assert text.startswith("Graft U: then every limb has a viable donor in at least 8 winters of")
    assert "That is likely, not sure." in text
    assert "U is a likely donor of R: S-alleles of U are not known (chance" in text
    sure = pollinet("cover", plan, "--sure", "--json").data
    assert (sure["added"], sure["limbs_sure"], sure["sure"]) == (["X"], 1, True)
    said = " ".join(pollinet("cover", plan, "--sure").out.split())
    assert said.startswith("Graft X: then every limb surely has a viable donor in at least 8")
    alone = pollinet("cover", plan, "--sure", "--never", "X", "--json")
    (miss,) = alone.data["uncovered"]
    assert (alone.code, miss["code"], miss["verdict"]) == (1, "not-sure", "likely")
    assert miss["reachable"] == 0 < 0.8 <= miss["expected"]
    assert miss["nearest_miss"]["unknown"] == ["U"]
    bare = " ".join(pollinet("cover", plan, "--sure", "--never", "X").out.split())
    assert "No choice of these varieties makes it sure that R will have a donor" in bare
    assert "S-alleles of U are not known" in bare
    assert "Proven, with all that is not known at its worst" in bare


def test_sure_also_after_a_loss(tmp_path: Path, pollinet: Run) -> None:
    """By hand: only X and Y serve R for certain, so that both must stand."""
    parts = (
        tree("R"), scions("U X Y"), variety("R", "S1S2", [110, 120]), OPEN.format("U"),
        variety("X", "S3S7", [110, 120]), variety("Y", "S5S9", [110, 120]),
    )  # fmt: skip
    plan = written(tmp_path, *parts)
    assert sets(pollinet("cover", plan, "--sure", "--survive-loss", "--json")) == [["X", "Y"]]
    assert ["U", "X"] in sets(pollinet("cover", plan, "--survive-loss", "--json"))


def test_a_graft_without_a_donor_of_its_own_is_named_so(tmp_path: Path, pollinet: Run) -> None:
    parts = (tree("T"), scions("G"), variety("T", "S1S2S3", [110, 120], ploidy=3),
             variety("G", "S4S5", [110, 120]))  # fmt: skip
    plan = written(tmp_path, *parts)
    (miss,) = pollinet("cover", plan, "--json").data["uncovered"]
    assert (miss["code"], miss["nearest_miss"]["variety"]) == ("bare-donor", "G")
    said = " ".join(pollinet("cover", plan).out.split())
    assert "each with a donor of its own, gives T a donor" in said


# --- the best so many --------------------------------------------------------------------------


def test_the_best_so_many_on_o8(o8: Path, pollinet: Run) -> None:
    """By hand from the shared days: X1 and X2 each serve all three limbs; X3 only A and B."""
    data = pollinet("cover", o8, "--add", "2", "--json").data
    best = data["best"]
    assert (best["most"], best["limbs"], best["limbs_sure"], best["limbs_covered"]) == (2, 3, 3, 3)
    # One is enough: the second would bring nothing.
    assert sorted(best["alternatives"]) == [["X1"], ["X2"]]
    assert (best["added"], best["worst_winters_expected"]) == (data["added"], 1)
    assert (best["proof"]["status"], best["proof"]["candidates"]) == ("optimal", 3)
    text = " ".join(pollinet("cover", o8, "--add", "2").out.split())
    name = best["added"][0]
    said = f"Take {name}: then 3 of 3 limbs are covered (3 surely), the worst in 10 winters of 10."
    assert text.startswith(said) and data["answer"] == said
    assert "Equally good:" in text and "Exact: of all sets of up to 2 of 3 candidates" in text


def test_the_best_so_many_where_none_covers_all(o8: Path, pollinet: Run) -> None:
    """By hand: with X3 alone A and B are covered, and C never meets it."""
    answer = pollinet("cover", o8, "--never", "X1", "--never", "X2", "--add", "3", "--json")
    assert (answer.code, answer.data["best"]["added"]) == (1, ["X3"])
    assert answer.data["best"]["limbs_covered"] == 2
    assert pollinet("cover", o8, "--must", "X3", "--add", "1", "--json").data["best"]["added"] == [
        "X3"
    ]


def test_where_nothing_helps_nothing_is_taken(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O8, neighbour("N", 14))
    answer = pollinet("cover", plan, "--add", "2")
    assert answer.code == 0 and answer.out.startswith("Take none, as none makes it better: 3 of 3")


def test_the_best_so_many_after_a_loss_is_refused(o8: Path, pollinet: Run) -> None:
    answer = pollinet("cover", o8, "--add", "2", "--survive-loss", "--json")
    assert answer.code == 2
    (finding,) = answer.data["findings"]
    assert (finding["code"], finding["place"]) == ("add-and-loss", "--survive-loss")
    assert finding["cure"]


# --- what was passed over, and this spring -----------------------------------------------------


def test_scions_that_no_set_can_hold_are_named_with_the_reason(
    tmp_path: Path, pollinet: Run
) -> None:
    """By hand: R blooms with E; `late` meets nobody, `twin` is of R's genotype, P is no apple.

    `late` needs a donor itself and has none; asked for pollen only, it serves no limb.
    """
    plum = '[[scion]]\nspecies = "Japanese plum"\nvariety = "P"\n'
    ill = '[[scion]]\nspecies = "apple"\nvariety = "ill"\nblocked = "canker"\n'
    parts = (
        tree("R E"), scions("late twin good"), plum, ill,
        variety("R", "S1S2", [110, 120]), variety("E", "S3S4", [110, 120]),
        variety("late", "S5S7", [160, 170]), variety("twin", "S1S2", [110, 120]),
        variety("good", "S5S9", [110, 120]), variety("ill", "S5S9", [110, 120]),
        variety("P", "S5S9", [110, 120]).replace("apple", "Japanese plum"),
    )  # fmt: skip
    plan = written(tmp_path, *parts)
    data = pollinet("cover", plan, "--json").data
    told = {one["variety"]: (one["code"], one["why"]) for one in data["passed_over"]}
    assert {name: code for name, (code, _) in told.items()} == {
        "late": "own-donor", "P": "other-fruit", "ill": "blocked",
    }  # fmt: skip
    assert told["ill"][1] == "canker"
    pollen = pollinet("cover", plan, "--pollen-only", "late", "--json").data["passed_over"]
    assert {"variety": "late", "code": "idle", "why": "serves no limb here"} in pollen
    text = " ".join(pollinet("cover", plan).out.split())
    assert "Passed over: late (would have a donor itself in too few winters); " in text
    assert "ill (canker)" in text
    full = written(tmp_path, tree("R E", spare=0), *parts[1:])
    codes = {o["variety"]: o["code"] for o in pollinet("cover", full, "--json").data["passed_over"]}
    assert codes == {
        "late": "no-room", "twin": "no-room", "good": "no-room", "P": "other-fruit",
        "ill": "blocked",
    }  # fmt: skip


def test_many_that_are_passed_over_are_counted(tmp_path: Path, pollinet: Run) -> None:
    names = [f"v{i}" for i in range(7)]
    late = [variety(name, "S5S7", [160, 170]) for name in names]
    plan = written(tmp_path, tree("R"), scions(" ".join(names)), *late,
                   variety("R", "S1S2", [110, 120]))  # fmt: skip
    text = " ".join(pollinet("cover", plan).out.split())
    assert "v4 (would have a donor itself in too few winters); and 2 more." in text
    assert len(pollinet("cover", plan, "--json").data["passed_over"]) == 7


def test_a_jar_stands_in_until_grafts_flower(o8: Path, tmp_path: Path, pollinet: Run) -> None:
    """By hand from the shared days: X1 and X2 serve C, X3 never meets it."""
    jars = {jar["limb"]: jar["sources"] for jar in pollinet("cover", o8, "--json").data["jars"]}
    assert sorted(source["variety"] for source in jars["C"]) == ["X1", "X2"]
    text = " ".join(pollinet("cover", o8).out.split())
    assert "This spring, until grafts flower, cut blossom in a jar beside a limb" in text
    assert "for C that of X2 (10 of 10 winters) or X1 (10 of 10 winters)" in text
    served = written(tmp_path, *O8, neighbour("N", 14))
    assert pollinet("cover", served, "--json").data["jars"] == []
    assert "cut blossom" not in pollinet("cover", served).out


def test_a_name_that_several_fruits_have_is_asked_for(tmp_path: Path, pollinet: Run) -> None:
    cherry = variety("Own", "S1S2", [108, 118]).replace('"apple"', '"sweet cherry"')
    wood = scions("Own") + scions("Own").replace('"apple"', '"sweet cherry"')
    other = tree("PT").replace('"apple"', '"sweet cherry"').replace('"tree"', '"other"')
    cherry += variety("PT", "S5S6", [108, 118]).replace('"apple"', '"sweet cherry"')
    apples = variety("Own", "S3S4", [108, 118]), variety("P", "S1S2", [108, 118])
    plan = written(tmp_path, tree("P"), other, wood, cherry, *apples)
    refused = pollinet("cover", plan, "--must", "Own")
    assert refused.code == 2 and 'several fruits have a candidate "Own"' in refused.findings
    told = sets(pollinet("cover", plan, "--must", "Own, sweet cherry", "--json"))
    assert told[0].count("Own") >= 1
