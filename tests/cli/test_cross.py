"""`pollinet cross`: answers, both ways, tables of pairs, and names that are not known."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pollinet.cli import main
from pollinet.compatibility.outcome import CODES
from pollinet.domain import VarietyId, Verdict
from pollinet.wording.verdicts import alleles_words, share_words, verdict_sentence


def run(*words: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    code = main(["cross", *words])
    out, err = capsys.readouterr()
    return code, out, err


def test_both_ways_and_allele_by_allele(capsys: pytest.CaptureFixture[str]) -> None:
    """Stella (S3S4') serves Bing (S3S4) by half, Bing does not serve Stella: Schuster 2020."""
    code, out, _ = run("Stella", "Bing", capsys=capsys)
    assert code == 0
    first, second, *_ = out.splitlines()
    assert first == "Partly, Stella pollinates Bing: shares S3: half of the pollen is accepted."
    assert second.startswith("No, Bing does not pollinate Stella")
    assert "SCHUSTER2020: " in out
    assert max(map(len, out.splitlines())) <= 100


def test_json_of_one_pair(capsys: pytest.CaptureFixture[str]) -> None:
    """Golden Delicious S2S3 has nothing that Jonagold S2S3S9 lacks (NC extension, HIL-302)."""
    code, out, _ = run("golden delicious", "JONAGOLD", "--json", capsys=capsys)
    data = json.loads(out)
    assert code == 0
    assert (data["female"], data["male"]) == ("Jonagold", "Golden Delicious")
    assert (data["verdict"], data["fraction"]) == ("no", 0.0)
    assert data["refused"] == ["S2", "S3"]
    assert data["other_way"]["code"] == "triploid-pollen"
    assert any("NCSU302" in line for line in data["measured"])
    assert data["memory"]  # Jonagold's genotype in the catalogue is from memory, and says so.


def test_own_pollen_has_one_way(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run("Lapins", "Lapins", "--json", capsys=capsys)
    assert code == 0
    assert json.loads(out)["verdict"] == "yes"
    assert json.loads(out)["other_way"] is None


def test_varieties_of_two_fruits(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run("Fuji", "Conference", "--json", capsys=capsys)
    assert json.loads(out)["code"] == "other-fruit"


def test_table_of_pairs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "pairs.csv"
    table.write_text(
        "species,female,male,note\n"
        "sweet cherry,Bing,Lambert,one group\n"
        "Prunus avium,Regina,Kordia,share S3\n"
        "apple,Gala,No Such Apple,\n",
        encoding="utf-8",
    )
    code, out, err = run("--file", str(table), "--json", capsys=capsys)
    rows = json.loads(out)
    assert code == 0
    assert [row["verdict"] for row in rows] == ["no", "half", "unknown"]
    assert [row["fraction"] for row in rows] == [0.0, 0.5, None]
    assert set(rows[0]) == {
        *("species", "female", "male", "verdict", "fraction", "reason", "sources")
    }
    assert rows[0]["reason"] == "same genotype S3S4"
    assert rows[0]["sources"] == ["SCHUSTER2020"]
    assert "pairs.csv, line 4" in err
    _, out, _ = run("--file", str(table), capsys=capsys)
    assert out.startswith("3 pairs: 0 yes, 1 half, 1 no, 1 unknown.")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["Fuij", "Gala"], "Fuji"),
        (["Nonpareil", "Delta"], "hazelnut and sweet cherry"),
        (["Gala", "Fuji", "--species", "aple"], "apple"),
        (["Gala", "Stella", "--species", "apple"], "Stella"),
        (["Gala"], "a donor and a receiver"),
        (["--file", "nowhere.csv"], "nowhere.csv"),
    ],
)
def test_bad_input_says_what_and_ends_with_2(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(*words, capsys=capsys)
    assert (code, out) == (2, "")
    assert told in err


@pytest.mark.parametrize("text", ["", "a,b\n1,2\n", "species,female,male\n"])
def test_file_without_pairs(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "pairs.csv"
    table.write_text(text, encoding="utf-8")
    code, out, _ = run("--file", str(table), "--json", capsys=capsys)
    assert code == 2
    assert json.loads(out)["findings"][0]["severity"] == "error"


@pytest.mark.parametrize("code", sorted(CODES))
def test_every_code_has_a_sentence(code: str) -> None:
    """No code reaches a grower as a code, and sentences hold no open places."""
    one = VarietyId("apple", "A")
    verdict = Verdict(one, one, "half", 0.5, 1.0, code, ("S1",), ("S2",))
    sentence = verdict_sentence(verdict)
    assert sentence != code
    assert "{" not in sentence
    assert not sentence.endswith(".")


def test_words_of_shares_and_alleles() -> None:
    assert share_words(2 / 3) == "67 %"
    assert share_words(None) == "an unknown share"
    assert alleles_words(("S1", "S2", "S9")) == "S1, S2 and S9"
    assert alleles_words(()) == ""


def test_both_pages_say_the_same_of_a_varietys_own_pollen(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Gala is S2S5: no source says whether its own pollen serves it, its alleles say no."""
    line = "Gala: S-alleles S2S5 (from memory); diploid; pollen presumed good; self-fertile: no"
    assert line in run("Gala", "Jonathan", capsys=capsys)[1]
    main(["variety", "Gala"])
    assert line in capsys.readouterr().out


def test_an_inferred_ploidy_is_marked(capsys: pytest.CaptureFixture[str]) -> None:
    """The ploidy of this apple comes of a screen for heterozygosity (ABC-HET), not of a count."""
    out = run("Aargauer Jubilaums", "Gala", capsys=capsys)[1]
    assert "(inferred from marker genes, not counted)" in " ".join(out.split())
    assert "triploid (inferred)" in out
    assert "inferred" not in run("Belle de Boskoop", "Gala", capsys=capsys)[1].split("Sources")[0]
