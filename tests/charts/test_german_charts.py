"""German words are longer: they must not lie over one another either."""

from __future__ import annotations

from pathlib import Path

import awkward_gardens
import pytest
from gardens import studied
from measured_charts import cut, overlaps

from pollinet.charts.album import Wishes, charts_of
from pollinet.charts.style import FORMS
from pollinet.demo import demo_files, write_demo
from pollinet.language import speaking


@pytest.mark.parametrize("form", ["paper", "telephone"])
@pytest.mark.parametrize("name", ["demo", *awkward_gardens.GARDENS])
def test_no_german_text_lies_over_another_or_is_cut(name: str, form: str, tmp_path: Path) -> None:
    folder = tmp_path / "garden"
    folder.mkdir()
    plan = (
        write_demo(folder, demo_files())
        if name == "demo"
        else awkward_gardens.written(name, folder)
    )
    study = studied(plan)
    with speaking("de"):
        for chart in charts_of(study, wishes=Wishes(form=FORMS[form])):
            assert overlaps(chart.figure) == [], chart.name
            assert cut(chart.figure) == [], chart.name
