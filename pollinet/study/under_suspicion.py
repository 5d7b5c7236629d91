"""What to say of a tree under suspicion of a disease."""

from __future__ import annotations

from pollinet.advice.suspicion import Ill, Suspicion
from pollinet.files import LOG_NAME
from pollinet.findings import Finding
from pollinet.messages import listing, mark, say

NOTED_CODE = "disease-noted"
"""Code of these warnings."""

_SAID: dict[Ill, str] = {
    "fire blight": mark(
        "Tree {tree} is under suspicion of fire blight ({signs}): no wood and no blossom for a "
        "jar is taken from it, and nothing new is grafted on it"
    ),
    "bacterial canker": mark(
        "Tree {tree} is under suspicion of bacterial canker ({signs}): no wood and no blossom for "
        "a jar is taken from it, and nothing new is grafted on it"
    ),
}

_SIGNS = {
    "ooze": mark("{limb}: ooze noted in {year}"),
    "crook": mark("{limb}: bent tips noted in {year}"),
    "blackened": mark("{limb}: blackened clusters noted in {year}"),
    "canker": mark("{limb}: canker noted in {year}"),
}


def under_suspicion(one: Suspicion) -> Finding:
    """The warning on one tree, with what to do."""
    signs = listing(
        [say(_SIGNS[sign], limb=limb, year=str(year)) for limb, sign, year in one.signs]
    )
    cure = say(
        "ask your plant-health service before you cut (fire blight must be reported in many "
        "places); clean the tools; the tree is counted on again after two years of notes without a "
        "sign"
    )
    message = say(_SAID[one.ill], tree=one.holder, signs=signs)
    return Finding("warning", NOTED_CODE, message, LOG_NAME, one.holder, cure=cure)
