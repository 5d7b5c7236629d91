"""One module a screen: its addresses, and what its template needs of the answers."""

from pollinet.page.screens import begin, garden, limb, notes, orchard, plan_file, take_along, tryout

SCREENS = (
    begin.screen,
    garden.screen,
    limb.screen,
    tryout.screen,
    plan_file.screen,
    orchard.screen,
    notes.screen,
    take_along.screen,
)
"""All screens, as blueprints."""
