"""Conditions as people type them; what is not known is neither yes nor no."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.domain import Fact
from pollinet.readers.conditions import DERIVED, Condition, Value, bounds_of, parse_condition
from pollinet.readers.shared_tables import fruits, read_shared

CHERRY = fruits()["sweet cherry"]
PROPERTIES = {**read_shared(None, []).properties, **DERIVED}
PLACES = ("Etoile", "Etoile cherries", "Jork")


def condition(text: str) -> Condition:
    parsed, findings = parse_condition(text, PROPERTIES, CHERRY, PLACES)
    assert findings == () and parsed is not None
    return parsed


def holds(text: str, *values: str | Value) -> bool:
    given = [value if isinstance(value, Value) else Value(value) for value in values]
    return condition(text).holds(given, CHERRY)


@pytest.mark.parametrize(
    ("text", "value", "expected"),
    [
        ("ploidy=3", "3", True),
        ("ploidy = 3", "2", False),
        ("ploidy!=3", "2", True),
        ("chill_portions<40", "39.5", True),
        ("chill portions<40", "40", False),
        ("Chill-Portions<=40", "40", True),
        ("chill_portions>40", "40", False),
        ("chill_portions>=40", "40", True),
        ("s_genotype~S3", "S3S4", True),
        ("s_genotype~S3", "S1S3'", False),  # a mutant is an allele of its own
        ("s_genotype~S4S3", "S3S4", True),
        ("s_genotype!~S3", "S1S4", True),
        ("s_genotype!~S3", "S3S4", False),
        ("s_genotype=S4S3", "S3S4", True),
        ("s_genotype=S3", "S3S4", False),
        ("s_genotype!=S3S4", "S3S4", False),
        ("vigour=Low", "low", True),
        ("vigour!=low", "high", True),
        ("name~burlat", "Bigarreau Burlat", True),
        ("name!~burlat", "Bing", True),
        ("name=cacak", "Čačak", True),
        ("full_bloom_day<5 Apr", "94.9", True),
        ("full_bloom_day<04-05", "95", False),
        ("full_bloom_day>=April 5", "95", True),
        ("full_bloom_day<95", "94", True),
    ],
)
def test_condition(text: str, value: str, expected: bool) -> None:
    assert holds(text, value) is expected


@pytest.mark.parametrize(
    "text", ["ploidy=3", "ploidy!=3", "s_genotype~S3", "s_genotype!~S3", "name!~x", "ploidy<4"]
)
def test_what_is_not_known_meets_no_condition(text: str) -> None:
    assert not holds(text)


def test_unknown_can_be_asked_for() -> None:
    assert holds("ploidy=unknown") and not holds("ploidy=unknown", "2")
    assert holds("ploidy!=unknown", "2") and not holds("ploidy!=unknown")


def test_allele_that_is_not_known_settles_nothing() -> None:
    assert holds("s_genotype~S3", "S3S?")
    assert not holds("s_genotype~S4", "S3S?")
    assert not holds("s_genotype!~S4", "S3S?")
    assert not holds("s_genotype!=S3S4", "S3S?")


def test_several_values() -> None:
    assert holds("chill_portions<40", "35", "48")
    assert not holds("parthenocarpy!=yes", "no", "yes")


def test_only_values_from_a_place() -> None:
    early = Value("90", ("Etoile cherries", "Etoile"))
    late = Value("120", ("Jork cherries", "Jork"))
    assert holds("full_bloom_day@Etoile<100", early, late)
    assert holds("full_bloom_day @ etoile cherries <100", early, late)
    assert not holds("full_bloom_day@Jork<100", early, late)
    assert not holds("full_bloom_day@Jork<100", early)


@pytest.mark.parametrize(
    ("text", "code", "told"),
    [
        ("foo", "wrong-condition", "ploidy=3"),
        ("=3", "wrong-condition", "ploidy=3"),
        ("ploidy=", "wrong-condition", "ploidy=3"),
        ("plody=3", "unknown-property", "ploidy"),
        ("ploidy=many", "wrong-type", "number"),
        ("ploidy=nan", "wrong-type", "number"),
        ("full_bloom_day<soon", "wrong-type", "5 Apr"),
        ("vigour=hig", "not-allowed", "high"),
        ("vigour<high", "wrong-condition", "!="),
        ("ploidy~3", "wrong-condition", "<="),
        ("s_genotype~S101", "unknown-genotype", "S3S4'"),
        ("s_genotype~S?", "wrong-condition", "no allele"),
        ("full_bloom_day@Etoil<100", "unknown-place", "Etoile"),
        ("name~(", "wrong-condition", "no letter or number"),
    ],
)
def test_what_is_wrong_is_told(text: str, code: str, told: str) -> None:
    parsed, [finding] = parse_condition(text, PROPERTIES, CHERRY, PLACES)
    assert parsed is None
    assert finding.code == code and finding.severity == "error"
    assert told in finding.message + finding.cure


@given(st.text(max_size=30))
def test_any_text_gives_a_condition_or_findings(text: str) -> None:
    parsed, findings = parse_condition(text, PROPERTIES, CHERRY, PLACES)
    assert (parsed is None) == bool(findings)


@given(st.integers(0, 150), st.integers(0, 150))
def test_less_and_not_less_share_out_what_is_known(value: int, limit: int) -> None:
    found = [holds(f"chill_portions{sign}{limit}", str(value)) for sign in ("<", ">=")]
    assert found == [value < limit, value >= limit]


@pytest.mark.parametrize(
    ("text", "note", "expected"),
    [
        ("chill_hours>300", "more than this", True),
        ("chill_hours>400", "more than this", True),
        ("chill_hours<=400", "more than this", False),
        ("chill_hours>500", "more than this", False),  # it may be less
        ("chill_hours!=500", "more than this", False),
        ("chill_hours<=400", "at most this", True),
        ("chill_hours<400", "at most this", False),
        ("chill_hours>100", "at most this", False),
    ],
)
def test_a_limit_holds_only_what_is_sure(text: str, note: str, expected: bool) -> None:
    """A source that says "more than 400 h" says nothing of 500."""
    fact = Fact("chill_hours", "400", note=note)
    assert holds(text, Value("400", (), bounds_of(fact))) is expected
