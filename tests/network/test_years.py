"""Springs after grafting, and parts of a network, against the plain definitions."""

from __future__ import annotations

import csv

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, garden, node, random_garden

from pollinet.catalogue_files import catalogue_root, table_text
from pollinet.domain import Limb, NetworkInput, Tree, VarietyId
from pollinet.network.checker import covered_share
from pollinet.network.coverage import limb_coverage
from pollinet.network.selection import keep_nodes, lose_nodes
from pollinet.network.viability import present_of
from pollinet.network.years import coverage_by_spring, first_springs, graft_method
from pollinet.readers.bearing import load_bearing
from pollinet.readers.catalogue import fruits

SPRINGS = range(2027, 2033)


def young(network: NetworkInput, seed: int) -> dict[int, tuple[int, int]]:
    """First springs of all candidates and of every other limb, spread over the years."""
    graft = {i: 2025 + (i * 7 + seed) % 4 for i in candidates_of(network)}
    graft |= {i: 2024 + (i + seed) % 4 for i in present_of(network) if i % 2}
    return first_springs(dict(graft), dict.fromkeys(graft, (2, 3)))


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_each_spring_counts_those_that_bloom(seed: int) -> None:
    network = random_garden(seed)
    present = (*present_of(network), *candidates_of(network)[:3])
    firsts = young(network, seed)
    for row in coverage_by_spring(network, present, firsts, SPRINGS):
        for entry in row:
            ages = firsts.get(entry.node, (0, 0))
            words = ["no", "perhaps", "yes"]
            assert entry.blooms == words[sum(entry.spring >= first for first in ages)]
            if entry.blooms == "no":
                assert entry.cautious is entry.hopeful is None
                continue
            for share, edge in ((entry.hopeful, 0), (entry.cautious, 1)):
                # The checker looks at every pair anew, without packed bits.
                open_now = [
                    i
                    for i in present
                    if i == entry.node or entry.spring >= firsts.get(i, (0, 0))[edge]
                ]
                assert share == pytest.approx(covered_share(network, open_now, entry.node))
            assert entry.cautious is not None and entry.hopeful is not None
            assert entry.cautious <= entry.hopeful


def test_a_young_donor_serves_from_its_first_spring_on() -> None:
    limb, donor = node("old"), node("graft", "candidate", must_crop=False)
    network = garden(
        [limb, donor], {"old": [(100, 110)], "graft": [(101, 111)]}, {("graft", "old"): "yes"}
    )
    firsts = first_springs({0: None, 1: 2026}, {0: (2, 3), 1: (2, 3)})
    assert firsts == {1: (2028, 2029)}
    (row,) = coverage_by_spring(network, (0, 1), firsts, SPRINGS)
    told = [(entry.cautious, entry.hopeful) for entry in row]
    assert told == [(0, 0), (0, 1), (1, 1), (1, 1), (1, 1), (1, 1)]


def test_a_tree_is_as_young_as_its_oldest_graft_where_all_are_dated() -> None:
    def limb(name: str, year: int | None) -> Limb:
        return Limb(name, "tree", VarietyId("apple", name), year)

    first, later, old = limb("first", 2020), limb("later", 2024), limb("old", None)
    planted = Tree("tree", "apple", (first, later))
    assert graft_method(first, planted) == "young tree"
    assert graft_method(later, planted) == "graft on a bearing tree"
    grown = Tree("tree", "apple", (first, later, old))
    assert {graft_method(x, grown) for x in grown.limbs} == {"graft on a bearing tree"}


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000), lost=st.sets(st.integers(0, 4), max_size=3))
def test_a_part_of_a_network_is_the_network_of_the_part(seed: int, lost: set[int]) -> None:
    network = random_garden(seed)
    rest = [i for i in present_of(network) if i not in lost]
    whole = limb_coverage(network, rest)
    part = limb_coverage(lose_nodes(network, sorted(lost)))
    here = [i for i in range(len(network.nodes)) if i not in lost]
    assert [here[row.node] for row in part] == [row.node for row in whole]
    for one, other in zip(part, whole, strict=True):
        assert one.reliability == other.reliability
        assert [here[d.node] for d in one.donors] == [d.node for d in other.donors]
    assert keep_nodes(network, range(len(network.nodes))).nodes == network.nodes


@pytest.mark.parametrize(
    ("fruit", "years"),
    # University of Connecticut IPM and a Washington State University list, "Why fruit trees fail
    # to bear": years from planting to bearing; where both name a fruit, the wider range.
    [("apple", (2, 5)), ("apricot", (2, 5)), ("sour cherry", (3, 5)), ("sweet cherry", (4, 7)),
     ("peach", (2, 4)), ("pear", (4, 6)), ("European plum", (3, 6))],
)  # fmt: skip
def test_years_to_bearing_are_those_published(fruit: str, years: tuple[int, int]) -> None:
    age = load_bearing([fruit], "young tree")[fruit]
    assert (age.first, age.late) == years
    assert not age.memory


def test_every_fruit_has_an_age_and_every_age_a_source() -> None:
    text = table_text(catalogue_root(), "sources.csv") or ""
    sources = {row["source"] for row in csv.DictReader(text.splitlines())}
    for method in ("young tree", "graft on a bearing tree"):
        for age in load_bearing(fruits(), method).values():
            assert 1 <= age.first <= age.late <= 14
            assert age.sources and set(age.sources) <= sources
    # 4-H, "Fruit Tree Grafting": many grafts fruit two to three years after establishment.
    graft = load_bearing(["apple"], "graft on a bearing tree")["apple"]
    assert (graft.first, graft.late) == (2, 3)
    # No figure was found for hazelnut trees: recalled, and marked so.
    assert load_bearing(["hazelnut"], "young tree")["hazelnut"].memory
