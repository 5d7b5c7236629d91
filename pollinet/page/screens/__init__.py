"""One module a screen: its addresses, and what its template needs of the answers."""

from pollinet.page.screens import (
    begin,
    garden,
    limb,
    names,
    plan_file,
    spring,
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
)
"""All screens, as blueprints."""
