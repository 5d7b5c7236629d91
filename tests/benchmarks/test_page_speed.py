"""What the page costs for a changed limb, as a multiple of the answer that it shows.

Aim: within 0.3 s in the browser, on the demo and on 40 limbs in 50 winters.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import seconds
from gardens import studied
from test_change_speed import bloomers, demo, forty_limbs

from pollinet.answers.check import check_of
from pollinet.page.app import create_app


@pytest.mark.parametrize("garden", [demo, forty_limbs])
def test_a_changed_limb_on_the_page(
    garden: Callable[[Path], Path], tmp_path: Path, ratio: Callable[..., float]
) -> None:
    plan = garden(tmp_path)
    client = create_app(plan, hosts={"localhost"}, language="en").test_client()
    base = studied(plan)
    assert base.coverage
    limb = base.plan.limbs[0]
    names = [one.id.name for one in bloomers(base) * 20 if one.id != limb.variety][:40]
    mine, theirs = iter(names), iter(names)

    def shown() -> None:
        answer = client.get("/try", query_string={"try": f"change:{limb.id}:{next(mine)}"})
        assert answer.status_code == 200

    def asked() -> object:
        return check_of(base.with_limb(limb.id, variety=next(theirs)))

    client.get("/")
    ratio(
        f"the try-out of a limb of {len(base.plan.limbs)} on the page / its answer",
        shown,
        asked,
        rounds=min(15, len(names) - 2),
    )
    left = [seconds(shown) for _ in range(5)]
    print(f"{statistics.median(left) * 1000:.0f} ms on the server")
