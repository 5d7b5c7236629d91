"""One typed, frozen answer for each question: what JSON, CSV, frames, pages and notebooks show.

An answer speaks of ids and names, never of indices, and carries its own sentences. Its JSON and
the schema of that come from its type. All decisions are taken before or while it is made; what
shows it compares nothing with the level of the plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pollinet.answers.base import Answer

KINDS: dict[str, str] = {
    "bad-input": "bad_input:BadInput",
    "balance": "balance:Balance",
    "bloom": "bloom:BloomByWinter",
    "check": "check:Check",
    "chill": "chill:Chill",
    "collection": "collection:Collection",
    "cover": "cover:Cover",
    "cross": "cross:Cross",
    "cross-file": "cross_file:CrossFile",
    "diagnose": "diagnose:Diagnose",
    "donors": "donors:Donors",
    "fit": "fit:Fit",
    "graph": "graph:DonorGraph",
    "plan": "plan_change:PlanChange",
    "lost-label": "lost_label:LostLabel",
    "pollinizer": "pollinizer:Pollinizer",
    "record": "record:Record",
    "record-log": "record:RecordLog",
    "report": "report:WrittenReport",
    "rows": "rows:Rows",
    "scions": "scions:Scions",
    "season": "season:Season",
    "sites": "sites:Sites",
    "start": "start:NewPlan",
    "suits": "suits:Suits",
    "triploids": "triploids:Triploids",
    "varieties": "varieties:Varieties",
    "variety": "variety:VarietyPage",
    "variety-add": "variety_add:AddedVariety",
    "verify": "made_of:Verified",
    "weather": "weather:Weather",
    "without": "without:Without",
    "without-each": "without:WithoutEach",
    "work": "work:Work",
}
"""Where the type of each answer stands, by the name of its schema: `module:class`."""


def kind_of(name: str) -> type[Answer]:
    """The type of an answer by the name of its schema; its module is imported now."""
    from importlib import import_module

    module, _, kind = KINDS[name].partition(":")
    found: type[Answer] = getattr(import_module(f"pollinet.answers.{module}"), kind)
    return found
