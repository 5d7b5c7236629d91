"""What belongs to one request: the garden asked about, and addresses that keep what is tried."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flask import current_app, g, render_template, request, url_for

from pollinet.domain import VarietyId
from pollinet.drafting import free_id
from pollinet.findings import Finding
from pollinet.language import _, told
from pollinet.page.desk import Desk, Opened, Tried
from pollinet.page.tries import Graft, Try, subject_of, text_of, tries_of
from pollinet.study import Study


def desk() -> Desk:
    """The desk of this application."""
    found: Desk = current_app.extensions["pollinet-desk"]
    return found


@dataclass(frozen=True)
class Asked:
    """A garden that is asked about. `tried` : with what the address tries; None: it is unfit."""

    opened: Opened
    tries: tuple[Try, ...]
    tried: Tried | None


def asked() -> Asked:
    """The garden of this request, worked out once."""
    if "asked" not in g:
        tries = tries_of(request.args.getlist("try"))
        g.asked = Asked(desk().opened(), tries, desk().tried(tries))
    found: Asked = g.asked
    return found


def texts() -> list[str]:
    """What is tried in this request, as it stands in addresses."""
    return [text_of(one) for one in tries_of(request.args.getlist("try"))]


def to(endpoint: str, **values: Any) -> str:
    """The address of a screen with what is tried now; `tries`: something else to be tried."""
    kept = values.pop("tries", None)
    values["try"] = texts() if kept is None else kept
    return url_for(endpoint, **values)


def own_address() -> str:
    """The address of this request, to come back to."""
    return request.full_path.rstrip("?")


def without(number: int) -> list[str]:
    """What is tried now but for one."""
    return [text for place, text in enumerate(texts()) if place != number]


def with_more(*more: Try) -> list[str]:
    """What is tried now and more; a later try of the same limb takes the place of the earlier."""
    new = [text_of(one) for one in more]
    subjects = {subject_of(text) for text in new}
    return [text for text in texts() if subject_of(text) not in subjects] + new


def not_here(findings: Sequence[Finding]) -> tuple[str, int]:
    """A page that says that an address names something the garden has not, with near names."""
    text = _("There is nothing at this address.")
    return render_template("problem.html.j2", text=text, findings=findings), 404


def current_study() -> Study:
    """The garden of this request, with what is tried; screens are asked only where there is one."""
    found = asked().tried
    assert found is not None
    return found.study


@dataclass(frozen=True)
class Step:
    """Something that is tried, as it is told. `place` : the how-manieth of the address."""

    place: int
    words: str
    message: str = ""
    cure: str = ""


@dataclass(frozen=True)
class Score:
    """How many limbs of those that are to crop have a donor often enough."""

    covered: int
    limbs: int


def score_of(study: Study) -> Score:
    """The score of a garden."""
    return Score(sum(row.covered for row in study.coverage), len(study.coverage))


def scores() -> tuple[Score, Score] | None:
    """Before and now; None where nothing that is tried can be."""
    this = asked()
    if this.tried is None or this.opened.study is None or not this.tried.steps:
        return None
    return score_of(this.opened.study), score_of(this.tried.study)


def steps() -> list[Step]:
    """What is tried and can be, in words."""
    this = asked()
    found = this.tried.steps if this.tried else ()
    return [Step(this.tries.index(one), one.words(before)) for one, before in found]


def wrong_steps() -> list[Step]:
    """What is tried and cannot be, and why not."""
    this = asked()
    if this.tried is None:
        return []
    return [
        Step(
            this.tries.index(one),
            one.words(this.tried.study),
            " ".join(told(finding.message) for finding in findings),
            " ".join(told(finding.cure) for finding in findings),
        )
        for one, findings in this.tried.wrong
    ]


def graft_text(variety: VarietyId) -> str:
    """A new limb of a variety, as a text of `try`, on the tree of its fruit with most room."""
    (text,) = graft_texts([{"species": variety.species, "name": variety.name}])
    return text


def graft_texts(varieties: Sequence[Mapping[str, str]]) -> list[str]:
    """A new limb of each variety (`species`, `name`), each on the tree with most room by then.

    A tree under suspicion of a disease is taken where no other is of the fruit. A fruit that no
    tree of the garden is of is left out.
    """
    study = current_study()
    room = {tree.id: tree.spare_limbs for tree in study.open_trees}
    made: list[Graft] = []
    for one in varieties:
        trees = [tree.id for tree in study.open_trees if tree.species == one["species"]]
        if not trees:
            continue
        # More grafts than there is room for: still none goes where a disease may be.
        tree = max(trees, key=lambda name: (name not in study.suspected_ids, room[name]))
        room[tree] -= 1
        name = new_limb(tree, one["name"], [graft.limb for graft in made])
        made.append(Graft(tree, name, one["name"]))
    return [text_of(graft) for graft in made]


def new_limb(tree: str, variety: str, more: Sequence[str] = ()) -> str:
    """A name for a new limb that neither the garden has yet, nor `more`."""
    return _new(f"{tree}-{variety}", more)


def new_neighbour(variety: str) -> str:
    """A name for a tree next door that the garden does not have yet."""
    return _new(variety)


def _new(wished: str, more: Sequence[str] = ()) -> str:
    plan = current_study().plan
    taken = {*(limb.id for limb in plan.limbs), *(one.id for one in plan.neighbours), *more}
    return free_id(wished, taken)
