"""Names typed on the command line: what is not there ends the command."""

from __future__ import annotations

from collections.abc import Sequence

from pollinet.cli.common import stop
from pollinet.study import Study
from pollinet.summary import named


def limb_named(study: Study, text: str, *, as_json: bool) -> int:
    """Index of the limb that is meant; ends the command where there is none."""
    found, findings = named.limb_named(study, text)
    if findings:
        stop(findings, as_json)
    return found[0]


def places_named(study: Study, texts: Sequence[str], *, as_json: bool) -> tuple[int, ...]:
    """Indices of limbs and neighbours' trees; a tree of the plan stands for all its limbs."""
    found, findings = named.places_named(study, texts)
    if findings:
        stop(findings, as_json)
    return found
