"""Any text at all, and any bytes: a reader gives findings, and raises nothing."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st
from odd_tables import FACTS, facts
from odd_weather import days, headed
from oddities import SOUND

from pollinet.domain import Aim, Plan, Site
from pollinet.readers.note_text import read_note_text
from pollinet.readers.plan import read_plan_table
from pollinet.readers.records import parse_records
from pollinet.readers.text_tables import read_table, schema_of
from pollinet.readers.weather import read_weather

PLAN = Plan(Site("a slope", 46.4, None, None, None, True), Aim(), (), (), (), (), None, "plan.toml")
SIGNS = st.text(
    st.sampled_from(list(" \"',;=[]{}#.\n\r\t\\-0159aA_|:/\x00\x1b\u202e")), max_size=60
)


def broken(sound: str) -> st.SearchStrategy[str]:
    """A sound text with something put into it or in the place of a part."""
    places = st.integers(0, len(sound))
    return st.builds(
        lambda one, other, put: sound[: min(one, other)] + put + sound[max(one, other) :],
        places,
        places,
        st.one_of(SIGNS, st.text(max_size=20)),
    )


@settings(max_examples=60, deadline=None)
@given(st.one_of(SIGNS, broken(SOUND["plan.toml"].decode())))
def test_any_plan(text: str) -> None:
    table, findings = read_plan_table(Path("plan.toml"), text)
    assert table is not None or findings


@settings(max_examples=60, deadline=None)
@given(st.one_of(SIGNS, broken(SOUND["records.csv"].decode())))
def test_any_log_and_any_notes(text: str) -> None:
    parse_records(text, PLAN, "records.csv")
    read_note_text(f"Pollinet notes 1\n{text}", PLAN, "notes.txt", days()[-1].day)


@settings(max_examples=60, deadline=None)
@given(st.one_of(SIGNS, broken(facts(*FACTS.values()))))
def test_any_own_table(text: str) -> None:
    read_table(text, "facts.csv", schema_of("sour_cherry/facts.csv"), own=True)


@settings(max_examples=60, deadline=None)
@given(st.one_of(st.binary(max_size=200), broken(headed(days()[:20])).map(
    lambda text: text.encode("utf-8", "surrogatepass"))))  # fmt: skip
def test_any_weather(content: bytes) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "weather.csv"
        path.write_bytes(content)
        record, findings = read_weather(path, latitude=46.4)
        assert record is not None or findings
