"""Whatever is in the log, the diagnosis is a short text and stays within what is known."""

from __future__ import annotations

from dataclasses import replace

import pytest
from gardens import saved, studied
from hypothesis import given, settings
from hypothesis import strategies as st

from pollinet.cli.common import print_lines
from pollinet.readers.observations import kinds
from pollinet.readers.records import COLUMNS, parse_records, row_text
from pollinet.study import Study
from pollinet.summary.advice import limb_diagnosis
from pollinet.wording.advice import diagnosis_lines

PLAN = """
[site]
latitude = 47
[[tree]]
id = "t"
species = "apple"
[[tree.limb]]
id = "a"
variety = "A"
grafted = 2022
[[tree.limb]]
id = "b"
variety = "B"
[[variety]]
species = "apple"
name = "A"
s_genotype = "S1S2"
bloom_days = [110, 120]
[[variety]]
species = "apple"
name = "B"
bloom_days = [112, 121]
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return studied(saved(tmp_path_factory.mktemp("plan"), PLAN))


def value_of(name: str) -> st.SearchStrategy[str]:
    kind = kinds()[name]
    if kind.form == "word":
        return st.sampled_from(kind.allowed)
    if kind.form == "share":
        return st.integers(1, 40).flatmap(lambda n: st.integers(0, n).map(lambda k: f"{k}/{n}"))
    top = min(kind.maximum, 300)
    return st.floats(kind.minimum, top).map(lambda x: f"{x:.1f}").filter(
        lambda text: kind.minimum <= float(text) <= kind.maximum)  # fmt: skip


rows = st.sampled_from(list(kinds())).flatmap(
    lambda name: st.tuples(
        st.dates().map(lambda d: f"{2022 + d.year % 5}-{d.month:02d}-{min(d.day, 28):02d}"),
        st.sampled_from(["a", "b"]),
        st.just(name),
        value_of(name),
    )
)


@settings(max_examples=60, deadline=None)
@given(st.lists(rows, max_size=25))
def test_any_log_gives_a_short_answer(study: Study, notes: list[tuple[str, ...]]) -> None:
    text = row_text([COLUMNS, *((*row, "", "") for row in notes)])
    records, findings = parse_records(text, study.plan, "records.csv")
    # A day of any month is noted here as if it were of the spring.
    assert {one.code for one in findings} <= {"doubtful-date"}
    view = limb_diagnosis(replace(study, records=records), study.plan.limbs[0], 2026)
    printed: list[str] = []
    print_lines(diagnosis_lines(view), printed.append)
    assert sum(line.count("\n") + 1 for line in printed) < 60
    # B has no genotype, so no verdict may rest on its pollen.
    assert not {"refused_only", "bad_pollen_only"} & set(view.measures)
    # Without a measured record nothing is said of the weather of a year.
    assert not {"flight", "bloom_heat", "chill_quality"} & set(view.measures)
