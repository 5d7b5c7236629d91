"""Pictures that fit the width they are given: rows of HTML words with bars of inline SVG.

Each strip is a block of HTML for a page of ours. A row is a label (text) and a bar (`<svg>` as wide
as its column, every place in percent), so bars fit any width and letters keep their size; where
there is little room, the label stands above its bar. There is no script, no inline style and no
`id`, so any number of strips may stand in a page whose content security policy is that of
`default-src 'self'`. Marks and colours are those of `charts/style.py`; the style sheet has them as
custom properties.

    from pollinet import strips

    strips.style_sheet()                      text of `strips.css`, to be served or embedded

    spring = garden_spring(study)             of `pollinet.summary.spring`
    strips.calendar_strip(spring)                             the garden in bloom, tree by tree
    strips.calendar_strip(spring, chosen="C-mid")             and what the others share with a limb
    strips.calendar_strip(…, looked=all_beside(study, looked))   and which of them are no donors
    strips.calendar_strip(tried, before=spring)               a try-out: old bars as outlines, on
                                                              one axis, rows in the old order

    looked = look(study, place)               of `pollinet.answers.donors`
    strips.limb_strip(strips.limb_spring(study, looked))      one limb, and all that might serve it

    strips.winters_strip(check)               of `pollinet.answers.check`: winters of ten
    strips.harvest_strip(garden_pickings(study), sd_days)     of `pollinet.summary.suits`

All give `markupsafe.Markup`, in the language that is spoken. For fewer limbs give them less:
`winters_strip(check, limbs=["C-mid"])`. `legend=False` leaves out the key, for a page that has it
already.
"""

from __future__ import annotations

from pollinet.strips.calendar import calendar_strip
from pollinet.strips.drawing import style_sheet
from pollinet.strips.harvest import harvest_strip
from pollinet.strips.limb import LimbSpring, all_beside, limb_spring, limb_strip
from pollinet.strips.winters import Tenths, chill_strip, winters_strip

__all__ = [
    "LimbSpring",
    "Tenths",
    "all_beside",
    "calendar_strip",
    "chill_strip",
    "harvest_strip",
    "limb_spring",
    "limb_strip",
    "style_sheet",
    "winters_strip",
]
