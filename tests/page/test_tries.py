"""What is tried gives the answer that the written plan gives, and addresses keep it."""

from __future__ import annotations

from pathlib import Path

import pytest
from gardens import studied
from hypothesis import given
from hypothesis import strategies as st

from pollinet.answers.check import check_of
from pollinet.errors import WrongChange
from pollinet.letters import odd_id
from pollinet.page.desk import Desk
from pollinet.page.tries import (
    Days,
    Donors,
    Graft,
    Level,
    Lose,
    Move,
    NextDoor,
    Regraft,
    Try,
    Warmer,
    text_of,
    tries_of,
    try_of,
    written,
)

WORDS = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Z"]), min_size=1, max_size=20
).filter(lambda text: odd_id(text) is None)
METRES = st.integers(0, 500).map(float)


@given(
    st.one_of(
        st.builds(Regraft, WORDS, WORDS),
        st.builds(Graft, WORDS, WORDS, WORDS),
        st.builds(Move, WORDS, WORDS),
        st.builds(Lose, WORDS),
        st.builds(NextDoor, WORDS, WORDS, WORDS, METRES),
        st.builds(Donors, st.sampled_from([1.0, 2.0])),
        st.builds(Warmer, st.integers(0, 60).map(lambda x: x / 10)),
    )
)
def test_an_address_keeps_what_is_tried(one: Try) -> None:
    assert try_of(text_of(one)) == one


@pytest.mark.parametrize(
    "text",
    ["", "change", "change:a", "change:a:b:c", "no:a", "warmer:x", "warmer:nan", "level:inf",
             "change::b", "next:a:b:c:"]
)  # fmt: skip
def test_what_cannot_be_read_is_passed_over(text: str) -> None:
    assert try_of(text) is None
    assert tries_of([text, "lose:a", "lose:a"]) == (Lose("a"),)


STACK: tuple[Try, ...] = (
    Regraft("C-mid", "Kordia"),
    Graft("the-apple", "new one", "Discovery"),
    Lose("A-top"),
    NextDoor("fence", "sweet cherry", "Lapins", 12.0),
    Level(0.7),
    Days(4.5),
    Donors(2),
)


@pytest.mark.parametrize("number", range(1, len(STACK) + 1))
def test_the_written_plan_answers_what_was_tried(plan: Path, number: int) -> None:
    tree = studied(plan)
    apple = next(one.id for one in tree.plan.trees if one.species == "apple")
    stack = [Graft(apple, x.limb, x.variety) if isinstance(x, Graft) else x for x in STACK[:number]]
    tried = Desk(plan).tried(stack)
    assert tried is not None and tried.wrong == ()
    text = plan.read_text(encoding="utf-8")
    plan.write_text(written(text, stack, plan), encoding="utf-8")
    opened = studied(plan)
    assert check_of(tried.study).to_json() == check_of(opened).to_json()
    remarks = [line for line in text.splitlines() if line.startswith("#")]
    assert set(remarks) <= set(plan.read_text(encoding="utf-8").splitlines())


def test_what_no_plan_can_hold_is_told_and_left_out(plan: Path) -> None:
    wrong: tuple[Try, ...] = (
        Regraft("C-mid", "Kordja of the moon"), Regraft("no limb", "Kordia"),
        Move("C-mid", "no tree"), Lose("no limb"), Level(1.5), Warmer(40.0), Days(99.0), Donors(3),
    )  # fmt: skip
    tried = Desk(plan).tried([*wrong, Regraft("C-mid", "Kordia")])
    assert tried is not None
    assert [one for one, _findings in tried.wrong] == list(wrong)
    assert all(findings and findings[0].message for _one, findings in tried.wrong)
    assert [one for one, _study in tried.steps] == [Regraft("C-mid", "Kordia")]


def test_a_plan_is_not_written_with_what_it_cannot_hold(plan: Path) -> None:
    text = plan.read_text(encoding="utf-8")
    with pytest.raises(WrongChange):
        written(text, [Regraft("no limb", "Kordia")], plan)


def test_a_name_that_is_taken_or_gone_is_told(plan: Path) -> None:
    wrong = (Graft("the-apple", "A-top", "Discovery"), Move("no limb", "the-apple"))
    tried = Desk(plan).tried(wrong)
    assert tried is not None
    told = [(one, findings[0].code) for one, findings in tried.wrong]
    assert told == [(wrong[0], "taken-id"), (wrong[1], "unknown-limb")]
    with pytest.raises(WrongChange):
        written(plan.read_text(encoding="utf-8"), [Lose("no limb")], plan)


@pytest.mark.parametrize(
    "one",
    [
        Lose("neighbour-1"),
        NextDoor("neighbour-2", "sweet cherry", "Lapins", 12.5),
        NextDoor("neighbour-2", "sweet cherry", "Lapins", 40.0),
        NextDoor("placed", "sweet cherry", "Garnet", 15.0),
        NextDoor("placed", "sweet cherry", "Lapins", 9.0),
    ],
)
def test_a_tree_next_door_that_changes_is_written_as_it_was_tried(plan: Path, one: Try) -> None:
    text = plan.read_text(encoding="utf-8")
    stand = "[[scion]]"
    near = ('[[neighbour]]\nid = "placed"\nspecies = "sweet cherry"\nvariety = "Garnet"\n'
            "position_m = [0, 15]\n\n")  # fmt: skip
    text = text.replace("[[tree]]\n", "[[tree]]\nposition_m = [0, 0]\n")
    text = text.replace(stand, near + stand, 1)
    plan.write_text(text, encoding="utf-8")
    tried = Desk(plan).tried([one])
    assert tried is not None and tried.wrong == ()
    plan.write_text(written(text, [one], plan), encoding="utf-8")
    opened = studied(plan)
    assert opened is not None
    assert opened.plan.neighbours == tried.study.plan.neighbours
    assert check_of(opened).to_json() == check_of(tried.study).to_json()
    (before,) = [x for x in studied(plan).plan.neighbours if x.id == "placed"]  # type: ignore[union-attr]
    # Another distance puts it in another place, which nobody has told.
    moved = isinstance(one, NextDoor) and (one.id, one.distance_m) == ("placed", 9.0)
    assert (before.position_m is None) == moved
