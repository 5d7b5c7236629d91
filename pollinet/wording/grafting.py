"""How a variety gets onto its tree, in a grower's words: when, into what, how much wood, whose."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pollinet.advice.grafting import Union, Wood
from pollinet.advice.rules import split
from pollinet.advice.work import Task
from pollinet.language import N_, _, date_range, joined, ngettext, short_date
from pollinet.readers.advice import advice_tables
from pollinet.summary.grafting import Grafting
from pollinet.wording.work import small_title, undated_lines


def grafting_lines(wanted: Sequence[Grafting]) -> list[str]:
    """All that is to be said of some grafts; what holds for several is said once."""
    return [
        *when_lines(wanted),
        *place_lines(wanted),
        *union_lines(wanted),
        *stick_lines(wanted),
        *asking_lines(wanted),
    ]


def left_lines(limbs: Sequence[str]) -> list[str]:
    """Where to look on for limbs that the wood of a list does not serve."""
    if not limbs:
        return []
    text = _("For {limbs}: which one variety would help most, and which limb could give way where "
             "there is no room, tells `pollinet pollinizer PLAN --from catalogue`.")  # fmt: skip
    return [text.format(limbs=joined(limbs))]


# --- when -----------------------------------------------------------------------------------------


def when_lines(wanted: Sequence[Grafting]) -> list[str]:
    """The windows of each fruit, in a usual year here, and on what wood each is done."""
    lines: list[str] = []
    on: dict[str, None] = {}
    for fruit in dict.fromkeys(one.variety.species for one in wanted):
        here = [one for one in wanted if one.variety.species == fruit]
        first = here[0]
        if first.windows:
            order = not all(one.at_hand for one in here)
            told = [task for task in first.windows if order or task.task != "order-scions"]
            text = _("When ({fruit}, in a usual year here; go by the tree): {windows}")
            windows = "; ".join(_window(task) for task in told)
            lines.append(text.format(fruit=_(fruit), windows=windows))
            on |= {
                _(_METHODS[task.task]).format(wood=_(wood)): None
                for task in told
                if task.task in _METHODS and (wood := graft_on(task))
            }
        elif not first.after_leafing:
            text = _("When ({fruit}): no date, as nothing is known of its bloom here.")
            lines.append(text.format(fruit=_(fruit)))
        if first.after_leafing:
            lines += undated_lines([fruit])
    if on:
        lines.append(_("On what: {wood}.").format(wood="; ".join(on)))
    return lines


_METHODS = {
    "graft-dormant": "{wood}",
    "graft-bark": N_("bark: {wood}"),
    "bud-summer": N_("bud: {wood}"),
}


def _window(task: Task) -> str:
    first, last = task.days_of_year
    if task.task == "order-scions":
        return _("{task} by {day}").format(task=small_title(task), day=short_date(last))
    return _("{task} {days}").format(task=small_title(task), days=date_range(first, last))


def graft_on(task: Task) -> str:
    """What wood the work is done on, untranslated; empty: not told."""
    rows = advice_tables()["grafting_windows"]
    found = (row for row in rows if row["task"] == task.task and task.fruit in split(row["fruits"]))
    return next((row["on"] for row in found), "")


# --- into what ------------------------------------------------------------------------------------


def place_lines(wanted: Iterable[Grafting]) -> list[str]:
    """Where there is no room: what could give way, and trees of other fruits that would do."""
    lines = []
    for one in wanted:
        if one.tree is not None:
            continue
        if one.gives_way is not None:
            text = (
                _("{limb} could give way to {variety}: its variety stands twice, and no other limb "
                  "would lose its donor.")
                if one.twice
                else _("{limb} could give way to {variety}: no other limb would lose its donor.")
            )  # fmt: skip
            lines.append(text.format(limb=one.gives_way, variety=one.variety.name))
        else:
            text = _("No limb can be spared for {variety}: another would lose its donor, or the "
                     "tree has no other limb. A further tree would be its place.")  # fmt: skip
            lines.append(text.format(variety=one.variety.name))
        for tree, union in one.elsewhere:
            text = _("{variety} could go on {tree} ({stock}), too: {saying} ({source}).")
            lines.append(
                text.format(
                    variety=one.variety.name, tree=tree, stock=_(union.stock),
                    saying=_(union.saying), source=source_words(union),
                )
            )  # fmt: skip
    return lines


def union_lines(wanted: Iterable[Grafting]) -> list[str]:
    """What holds on what: on the tree's limbs once a fruit, on its rootstock tree by tree."""
    lines: dict[str, None] = {}
    for one in wanted:
        if one.limb_union is not None:
            text = _("On limbs of {stock}: {saying} ({source}).")
            lines[_on(text, one.limb_union)] = None
        if one.root is not None and one.root.parts:
            lines[_bridged(one, one.root)] = None
        elif one.root is not None and one.root.stock != one.variety.species:
            text = _("The roots of {tree} are {stock}: {saying} ({source}). A graft into a limb "
                     "does not touch them.")  # fmt: skip
            lines[_on(text, one.root, tree=str(one.tree))] = None
        elif one.root is None and one.rootstock:
            text = _("The table of rootstocks has no {root} ({tree}): graft into a limb, not below "
                     "it, or ask a nursery.")  # fmt: skip
            lines[text.format(root=one.rootstock, tree=one.tree)] = None
    return list(lines)


def _on(text: str, union: Union, **more: str) -> str:
    saying, source = _(union.saying), source_words(union)
    return text.format(stock=_(union.stock), saying=saying, source=source, **more)


def _bridged(one: Grafting, root: Union) -> str:
    """A variety that parts from the rootstock, and the wood that goes between."""
    if one.into:
        text = _("{variety} parts from {stock}, on which {tree} stands ({source}): graft it into "
                 "{limbs}, whose wood is then between the two, never into the stock itself. "
                 "Elsewhere {bridges} is put between.")  # fmt: skip
    else:
        text = _("{variety} parts from {stock}, on which {tree} stands ({source}): put wood of "
                 "{bridges} between (an interstem).")  # fmt: skip
    return text.format(
        variety=one.variety.name, stock=_(root.stock), tree=one.tree, limbs=joined(one.into, "or"),
        bridges=joined(root.bridges, "or") or _("a variety that holds on both"),
        source=source_words(root),
    )  # fmt: skip


def source_words(union: Union) -> str:
    """Where a row of the table comes from, in words."""
    if union.status == "memory":
        return _("common practice, recalled and not confirmed")
    if union.status == "inferred":
        return _("common practice, no source")
    return union.source


# --- how much, and whose --------------------------------------------------------------------------


def stick_lines(wanted: Iterable[Grafting]) -> list[str]:
    """How many sticks each limb takes, and why so many."""
    together: dict[Wood, list[str]] = {}
    for one in wanted:
        if one.wood is not None:
            together.setdefault(one.wood, []).append(one.variety.name)
    return [_sticks(wood, names) for wood, names in together.items()]


def _sticks(wood: Wood, names: Sequence[str]) -> str:
    text = _(
        "Sticks of 15 to 20 cm: {sticks}. A limb takes {grafts}, as about {ten} in 10 take, and "
        "one stick is to spare (common practice, no source)."
    )
    each = _("{number} of {variety}")
    sticks = joined([each.format(number=wood.sticks, variety=name) for name in names])
    grafts = (
        ngettext("{number} bud in summer", "{number} buds in summer", wood.grafts)
        if wood.method == "bud-summer"
        else ngettext("{number} graft", "{number} grafts", wood.grafts)
    ).format(number=wood.grafts)
    return text.format(sticks=sticks, grafts=grafts, ten=round(wood.take * 10))


def asking_lines(wanted: Sequence[Grafting]) -> list[str]:
    """Whom to ask for wood: whoever has it in and round the garden, then, once, everybody else."""
    lines = []
    for one in wanted:
        name, having = one.variety.name, one.having
        if having.source:
            text = _("{variety}: wood from {source}.")
            lines.append(text.format(variety=name, source=having.source))
        if having.limbs:
            text = _("{variety}: cut it from {limbs}.")
            lines.append(text.format(variety=name, limbs=joined(having.limbs, "or")))
        if having.neighbours:
            text = _("{variety}: ask next door, {trees} has it.")
            lines.append(text.format(variety=name, trees=joined(having.neighbours, "or")))
        if having.rights:
            text = _("Rights on {variety}, as the plan tells: {rights}.")
            lines.append(text.format(variety=name, rights=having.rights))
    others = [one.variety.name for one in wanted if not (one.at_hand or _near(one))]
    if others:
        text = _("Whom to ask for {varieties}: scion swaps and fruit societies, heritage "
                 "collections and public orchards, then nurseries that sell scion wood. Ask for "
                 "the name, where the mother tree stands, and whether it is healthy.")  # fmt: skip
        lines.append(text.format(varieties=joined(others)))
    return lines


def _near(one: Grafting) -> bool:
    return bool(one.having.limbs or one.having.neighbours)
