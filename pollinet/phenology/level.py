"""A temperature level that is not known moves all bloom of a site alike."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pollinet.domain import Timing

DAYS_PER_C = 4.5
"""By how much earlier bloom is in a place one degree warmer. Common practice, no source: four to
five days. [days per °C]"""


def at_level(timing: Timing, level_sd_c: float) -> Timing:
    """A species' timing at a site whose record may be off by so much for all days alike.

    The offset of the record is not an unknown of its own beside the error of the site: over the
    weeks before bloom both move every variety of a fruit by the same days, so that notes could not
    tell them apart. It is a part of that error, and own notes teach the sum.

    level_sd_c : SD of the offset. [°C]
    """
    site_sd_days = float(np.hypot(timing.site_sd_days, DAYS_PER_C * level_sd_c))
    return replace(timing, site_sd_days=site_sd_days)
