"""One module a screen: its addresses, and what its template needs of the answers."""

from pollinet.page.screens import begin, garden, limb, plan_file, tryout

SCREENS = (begin.screen, garden.screen, limb.screen, tryout.screen, plan_file.screen)
"""All screens, as blueprints."""
