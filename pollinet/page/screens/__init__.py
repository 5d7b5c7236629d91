"""One module a screen: its addresses, and what its template needs of the answers."""

from pollinet.page.screens import (
    begin,
    behind,
    cover,
    diagnose,
    download,
    garden,
    grafting,
    limb,
    papers,
    plan_file,
    tryout,
)

SCREENS = (
    begin.screen,
    garden.screen,
    limb.screen,
    tryout.screen,
    plan_file.screen,
    cover.screen,
    grafting.screen,
    diagnose.screen,
    papers.screen,
    download.screen,
    behind.screen,
)
"""All screens, as blueprints."""
