"""In how many places a garden has pollen; the places themselves stand in the files beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer, Findings, Told
from pollinet.findings import Finding
from pollinet.summary.sites import SitesSeen
from pollinet.wording.sites import sites_answer


@dataclass(frozen=True)
class SitesClimate:
    """The places in one climate."""

    warmer_c: Annotated[float, About("How much warmer every hour is. [°C]")]
    has_pollen: Annotated[
        int, About("Places in which every limb that is to crop has a donor in enough winters.", 0)
    ]
    short_of_chill: Annotated[
        int,
        About("Of these, places in which some limb's variety has all its chill in fewer winters "
              "than the plan asks for.", 0),
    ]  # fmt: skip
    lacks_pollen: Annotated[int, About("Places in which some limb has none.", 0)]
    not_known: Annotated[
        int, About("Places without weather, or whose climate the stations around tell weakly.", 0)
    ]


@dataclass(frozen=True, repr=False)
class Sites(Answer):
    """In how many places the garden has pollen, and where the rows are."""

    NAME: ClassVar[str] = "sites"
    ROWS: ClassVar[str] = "climates"
    ROW: ClassVar[type] = SitesClimate

    answer: Told
    places: Annotated[int, About("Places asked about.", 0)]
    taken_over: Annotated[int, About("Places that an earlier run had answered.", 0)]
    climates: Annotated[tuple[SitesClimate, ...], About("Today first.")]
    files: Annotated[tuple[str, ...], About("Files that were written.")]
    findings: Findings


def sites_of(
    seen: SitesSeen, taken_over: int, files: Sequence[str], findings: tuple[Finding, ...]
) -> Sites:
    """The answer, from how the garden stands in each place."""
    climates = tuple(
        SitesClimate(
            warmer,
            seen.count("has pollen", place),
            seen.short_of_chill(place),
            seen.count("lacks pollen", place),
            seen.count("not known", place),
        )
        for place, warmer in enumerate(seen.warmer_c)
    )
    return Sites(
        sites_answer(seen), len(seen.latitude), taken_over, climates, tuple(files), findings
    )
