"""One module a screen: its addresses, and what its template needs of the answers."""

from pollinet.page.screens import (
    begin,
    garden,
    limb,
    names,
    notes,
    orchard,
    place,
    plan_file,
    plan_text,
    spring,
    stock,
    take_along,
    tryout,
    variety,
)

SCREENS = (
    begin.screen,
    garden.screen,
    limb.screen,
    tryout.screen,
    plan_file.screen,
    spring.screen,
    variety.screen,
    names.screen,
    notes.screen,
    orchard.screen,
    place.screen,
    plan_text.screen,
    stock.screen,
    take_along.screen,
)
"""All screens, as blueprints."""
