"""The shipped table of runs, `runs.csv`: when a fruit's varieties bloom that nobody dated."""

from __future__ import annotations

from collections.abc import Mapping

from pollinet.domain import BloomEvidence, Run, Site, Status
from pollinet.readers.text_tables import shipped_rows
from pollinet.readers.varieties import weakest


def load_runs(fruit: str, sites: Mapping[str, Site]) -> tuple[Run, ...]:
    """Rows on one fruit; a row is only as good as the normals of its site.

    sites : trial sites by name.
    """
    return tuple(
        Run(
            BloomEvidence(
                row["stage"],
                row["day"],
                row["sd_days"],
                row["place"],
                "date",
                row["source"],
                weakest((row["status"], _normals_status(sites[row["place"]]))),
            ),
            row["varieties"],
            row["of"] == "pollen shed",
        )
        for row in shipped_rows("runs.csv")
        if row["fruit"] == fruit and row["place"] in sites
    )


def _normals_status(site: Site) -> Status:
    return "memory" if site.normals is None else site.normals.status
