"""One module a screen: its addresses, and what its template needs of the answers."""

from pollinet.page.screens import begin, garden, limb, place, plan_file, plan_text, stock, tryout

SCREENS = (begin.screen, garden.screen, limb.screen, tryout.screen, plan_file.screen,
           plan_text.screen, stock.screen, place.screen)  # fmt: skip
"""All screens, as blueprints."""
