"""What the shipped catalogues hold, checked against figures printed in their sources."""

from __future__ import annotations

import csv
from collections import Counter, defaultdict
from dataclasses import astuple
from pathlib import Path
from statistics import fmean, median

import pytest
from count_chill import ranges
from write_trial_normals import CHOSEN, normals_of, read_stations

from pollinet.domain import Catalogue, Descent, Genotype, VarietyId
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.chill_ranges import load_chill_ranges
from pollinet.readers.descent import can_have
from pollinet.readers.genotypes import allele_names
from pollinet.readers.names import fold
from pollinet.readers.text_tables import parents_in


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    loaded, findings = load_catalogue(fruits())
    assert findings == ()
    return loaded


def genotyped(catalogue: Catalogue, species: str) -> dict[str, Genotype]:
    return {
        variety.id.name: variety.fertility.genotype
        for variety in catalogue.varieties.values()
        if variety.id.species == species and variety.fertility.genotype
    }


def test_sweet_cherries_of_the_overview_are_there(catalogue: Catalogue) -> None:
    # SCHUSTER2020: 1483 entries; 42 names stand twice with two genotypes, so 1441 names.
    names = {v.name for v in catalogue.varieties if v.species == "sweet cherry"}
    assert len(genotyped(catalogue, "sweet cherry")) > 1400
    assert len(names) >= 1441


DEVIATING_CHERRIES = {
    "Alienuszka": "VII",
    "Almaznaya": "XVI",
    "NY 8139": "XXXIV",
    "Na 19": "II",
    "Orondo Ruby": "LII",
    "Spitze Braune": "XXXI",
    "Taleguera Brillante": "XXXIV",
    "Xapata": "XXXIV",
}
"""Varieties whose printed group has another genotype: kept as printed, and noted in the table."""


def test_incompatibility_groups_partition_the_genotyped_cherries(catalogue: Catalogue) -> None:
    # SCHUSTER2020 counts 63 groups, I to LXIII (the title of its Table 2).
    members: defaultdict[str, Counter[tuple[str, ...]]] = defaultdict(Counter)
    by_name = {}
    for variety in catalogue.varieties.values():
        fertility = variety.fertility
        if fertility.alternatives:  # in the group of the likeliest of its genotypes
            continue
        if variety.id.species == "sweet cherry" and fertility.group and fertility.genotype:
            by_name[variety.id.name] = (fertility.group, fertility.genotype.alleles)
            members[fertility.group][fertility.genotype.alleles] += 1
    assert len(members) == 63
    fitting = {n: v for n, v in by_name.items() if n not in DEVIATING_CHERRIES}
    assert {n: by_name[n][0] for n in DEVIATING_CHERRIES} == DEVIATING_CHERRIES
    one_to_one = set(fitting.values())
    assert len(one_to_one) == len({group for group, _ in one_to_one})
    assert len(one_to_one) == len({alleles for _, alleles in one_to_one})
    assert len(one_to_one) == 61  # XXXIV and LII have deviating members only
    assert len(by_name) > 1250


def test_named_pairs_of_one_cherry_group(catalogue: Catalogue) -> None:
    # SCHUSTER2020 as quoted in the reference pairs: Bing, Lambert, Napoleon S3S4; Van, Regina S1S3.
    cherries = genotyped(catalogue, "sweet cherry")
    assert {cherries[n].alleles for n in ("Bing", "Lambert", "Napoleon")} == {("S3", "S4")}
    assert {cherries[n].alleles for n in ("Van", "Regina")} == {("S1", "S3")}
    assert cherries["Stella"].alleles == ("S3", "S4'")


CHILL_PORTIONS = {
    # UC Davis tree phenology, Table 1 (Erez 2000; Alburquerque et al. 2008; Ramirez et al. 2010)
    ("apple", "Golden Delicious"): 50,
    ("sweet cherry", "Lapins"): 35,
    ("sweet cherry", "Rainier"): 45,
    ("sweet cherry", "Burlat"): 48,
    ("sweet cherry", "Sam"): 70,
    ("peach", "Redhaven"): 75,
    ("almond", "Nonpareil"): 23,
}


@pytest.mark.parametrize(("key", "portions"), CHILL_PORTIONS.items())
def test_published_chill_requirements(
    catalogue: Catalogue, key: tuple[str, str], portions: float
) -> None:
    published = [c for c in catalogue.varieties[VarietyId(*key)].chill if c.status == "published"]
    assert portions in {requirement.portions for requirement in published}
    assert all(requirement.sd_portions > 0 for requirement in published)


def test_triploid_and_sterile_apples_give_no_pollen(catalogue: Catalogue) -> None:
    # EXT-APPLES, NCSU302 and USU: Jonagold, Mutsu, Gravenstein, Winesap, Stayman: no pollinizers.
    for name in ("Jonagold", "Mutsu", "Gravenstein", "Winesap", "Stayman"):
        assert catalogue.varieties[VarietyId("apple", name)].fertility.pollen_ok is False
    # A triploid pear of which one weak source says that it sets Conference: handbooks disagree.
    amanlis = catalogue.varieties[VarietyId("pear", "Beurre d'Amanlis")].fertility
    assert (amanlis.ploidy, amanlis.pollen_ok) == (3, False)


def test_unsaid_pollen_of_a_diploid_stays_unknown(catalogue: Catalogue) -> None:
    fuji = catalogue.varieties[VarietyId("apple", "Fuji")].fertility
    assert (fuji.ploidy, fuji.pollen_ok) == (2, None)


def test_mislabelled_trees_are_left_out(catalogue: Catalogue) -> None:
    # Published and textbook ploidy win; bloom of the collection's trees of these names is not used.
    for name, ploidy in {"Shizuka": 3, "Hokuto": 3, "Egremont Russet": 2}.items():
        variety = catalogue.varieties[VarietyId("apple", name)]
        assert variety.fertility.ploidy == ploidy
        assert "ABC2021" not in {evidence.source for evidence in variety.bloom}


def test_apples_with_published_genotype_for_demos_have_bloom(catalogue: Catalogue) -> None:
    for name in ("Golden Delicious", "Jonathan", "Fuji", "Tsugaru", "Akane", "Redgold", "Kinsei"):
        variety = catalogue.varieties[VarietyId("apple", name)]
        assert "genotype" not in variety.fertility.memory
        assert variety.fertility.genotype and variety.bloom


def test_sport_keeps_the_alleles_of_its_parent(catalogue: Catalogue) -> None:
    # GOLDWAY1999 prints only S9 of Topred, a sport of Delicious (S9S28, from memory).
    topred = catalogue.varieties[VarietyId("apple", "Topred")].fertility
    assert topred.clone == "Delicious"
    assert topred.genotype == Genotype(("S9", "S28"))
    assert "genotype" in topred.memory


def test_sport_ripens_with_its_parent_unless_told_otherwise(catalogue: Catalogue) -> None:
    def ripening(name: str) -> set[str]:
        facts = catalogue.varieties[VarietyId("apple", name)].facts
        return {fact.note.split(";")[0] for fact in facts if "harvest" in fact.property}

    assert "as Gala" in ripening("Royal Gala")
    # Beni Shogun is sold for ripening weeks before Fuji, whose sport it is.
    assert not any(note.startswith("as ") for note in ripening("Beni Shogun"))


def test_no_harvest_day_is_the_end_of_the_season(catalogue: Catalogue) -> None:
    # ABC2021: what hung at Kentville at the end of October was picked then, ripe or not.
    days = [
        float(fact.value)
        for variety in catalogue.varieties.values()
        for fact in variety.facts
        if (fact.property, fact.source) == ("harvest_day", "ABC2021")
    ]
    assert len(days) > 500 and max(days) < 304


def test_catkins_and_stigmas_of_hazelnuts_keep_the_order_of_growers(catalogue: Catalogue) -> None:
    # Common practice, no source: Tonda Gentile sheds first and Theta last; Jefferson and Theta
    # show their stigmas long after Yamhill and Sacajawea.
    def day(name: str, *, shed: bool) -> float:
        variety = catalogue.varieties[VarietyId("hazelnut", name)]
        return fmean(e.day for e in (variety.shed if shed else variety.bloom))

    order = ("Tonda Gentile delle Langhe", "Barcelona", "Lewis", "Jefferson", "Theta")
    catkins = [day(name, shed=True) for name in order]
    assert catkins == sorted(catkins)
    late = min(day(name, shed=False) for name in ("Jefferson", "Theta"))
    assert late - max(day(name, shed=False) for name in ("Yamhill", "Sacajawea")) > 30


def test_parents_of_sports_are_no_sports(catalogue: Catalogue) -> None:
    for variety in catalogue.varieties.values():
        root = catalogue.varieties[VarietyId(variety.id.species, variety.fertility.clone)]
        assert root.fertility.clone == root.id.name


def test_memory_reaches_what_rests_on_it(catalogue: Catalogue) -> None:
    for variety in catalogue.varieties.values():
        told = {fact.property: fact.status for fact in reversed(variety.facts)}
        if told.get("s_genotype") == "memory":
            assert "genotype" in variety.fertility.memory
        if told.get("ploidy") == "memory":
            assert "ploidy" in variety.fertility.memory
        for evidence in variety.bloom:
            normals = catalogue.sites[evidence.place].normals
            assert normals is not None
            if normals.status == "memory":
                assert evidence.status == "memory"


def test_every_value_names_a_source(catalogue: Catalogue) -> None:
    for variety in catalogue.varieties.values():
        for fact in variety.facts:
            assert fact.source in catalogue.sources
            recalled = fact.source.startswith("MEM-") or fact.source.endswith("_MEM")
            assert not recalled or fact.status == "memory", (variety.id, fact)


def test_names_are_unique_and_bear_no_mark(catalogue: Catalogue) -> None:
    folded = Counter((name.species, fold(name.name)) for name in catalogue.varieties)
    assert [name for name, count in folded.items() if count > 1] == []
    names = [*catalogue.varieties, *catalogue.synonyms]
    assert [name for name in names if set(name.name) & set("®™()\n")] == []
    assert not {(s.species, fold(s.name)) for s in catalogue.synonyms} & set(folded)


def test_alleles_belong_to_the_name_space_of_the_fruit(catalogue: Catalogue) -> None:
    for variety in catalogue.varieties.values():
        pattern, _ = allele_names(fruits()[variety.id.species].name_space)
        genotype = variety.fertility.genotype
        for allele in genotype.alleles if genotype else ():
            assert pattern.fullmatch(allele), (variety.id, allele)
    for fact in catalogue.rules.alleles:
        assert allele_names(fact.name_space)[0].fullmatch(fact.allele)


def test_allele_frequencies_are_shares(catalogue: Catalogue) -> None:
    for shares in catalogue.rules.allele_frequencies.values():
        assert sum(shares.values()) == pytest.approx(1)
    # Broothaerts et al. 2004 (abstract): S2, S3 and S9 very common, S4, S8, S16 rare in apple.
    apple = catalogue.rules.allele_frequencies["apple"]
    assert min(apple[a] for a in ("S2", "S3", "S9")) > max(apple[a] for a in ("S4", "S8", "S16"))


def test_same_cherry_order_at_every_site(catalogue: Catalogue) -> None:
    # WENDEN2016: Burlat blooms before Regina at each site where both stand.
    def days(name: str) -> dict[str, float]:
        bloom = catalogue.varieties[VarietyId("sweet cherry", name)].bloom
        return {e.place: e.day for e in bloom if e.stage == "full" and e.kind == "date"}

    burlat, regina = days("Burlat"), days("Regina")
    assert set(burlat) >= {"Etoile", "Balandran", "Jork"}
    assert all(burlat[place] < regina[place] for place in set(burlat) & set(regina))


@pytest.mark.parametrize(("site", "name"), [("Etoile", "Burlat"), ("Jork", "Regina")])
def test_usual_days_of_cherries_seen_in_every_year(
    catalogue: Catalogue, reference_weather: Path, site: str, name: str
) -> None:
    # A variety with a record in every year needs no correction: its plain mean over the years
    # (trees of one year: median) of the open series, doi 10.5061/dryad.1d28m, is the usual day.
    years: defaultdict[str, list[float]] = defaultdict(list)
    with (reference_weather / "bloom_sweet_cherry.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if (row["site"], row["cultivar"]) == (site, name) and row["full_doy"]:
                years[row["year"]].append(float(row["full_doy"]))
    plain = fmean(median(days) for days in years.values())
    bloom = catalogue.varieties[VarietyId("sweet cherry", name)].bloom
    (shipped,) = [e.day for e in bloom if (e.place, e.stage) == (site, "full")]
    assert shipped == pytest.approx(plain, abs=0.5)


OTHER_STATIONS = {
    "Etoile": ("Montelimar", "1981-2010"),
    "Balandran": ("Nimes-Courbessac", "1981-2010"),
    "Jork": ("Bremervoerde (WMO 10139)", "2009-2020"),
}
"""Stations, or tables of a station, that the normals of the site do not rest on."""


@pytest.mark.parametrize("site", sorted(OTHER_STATIONS))
def test_normals_of_the_cherry_sites(
    catalogue: Catalogue, reference_weather: Path, site: str
) -> None:
    # A year's mean of two stations within 50 km and 100 m of height agrees to about 0.7 °C (spread
    # of neighbours in the monthly reports); the grid cells are 1 to 4 °C too cold by night.
    with (reference_weather / "station_normals.csv").open(encoding="utf-8") as file:
        rows = [
            row
            for row in csv.DictReader(file)
            if (row["station"], row["period"]) == OTHER_STATIONS[site]
            and row["place"].startswith(site)
        ]
    assert len(rows) == 12
    normals = catalogue.sites[site].normals
    assert normals is not None and normals.status == "inferred"
    for key, shipped in (("tmin_c", normals.tmin_c), ("tmax_c", normals.tmax_c)):
        assert fmean(shipped) == pytest.approx(fmean(float(r[key]) for r in rows), abs=0.7)


def test_normals_come_from_the_chosen_stations(
    catalogue: Catalogue, reference_weather: Path
) -> None:
    """Else run `write_trial_normals.py`, then `write_trial_sums.py`."""
    stations = read_stations(reference_weather / "station_normals.csv")
    for place, choice in CHOSEN.items():
        site = catalogue.sites[place]
        assert site.elevation_m is not None and site.normals is not None
        made = normals_of(choice, site.elevation_m, stations)
        assert site.normals.tmin_c == tuple(float(row[1]) for row in made)
        assert site.normals.tmax_c == tuple(float(row[2]) for row in made)


# --- descent, picking, keeping, hardiness, chill by study ------------------------------------


def descents(catalogue: Catalogue) -> dict[VarietyId, tuple[str, str]]:
    found = {}
    for name, variety in catalogue.varieties.items():
        for fact in variety.facts:
            if fact.property == "parents":
                told = parents_in(fact.value)
                assert told is not None
                found[name] = told[:2]
    return found


def test_parents_could_have_given_the_alleles_of_their_children(catalogue: Catalogue) -> None:
    """Recalled pedigrees against published and recalled S-genotypes (Mendel's rule)."""

    def alleles(species: str, name: str) -> tuple[str, str] | None:
        typed = VarietyId(species, name)
        one = catalogue.varieties.get(catalogue.synonyms.get(typed, typed))
        genotype = one.fertility.genotype if one else None
        told = genotype.alleles if genotype and genotype.complete else ()
        return (told[0], told[1]) if len(told) == 2 else None

    told = descents(catalogue)
    assert len(told) >= 250 and len({name.species for name in told}) >= 10
    checked = 0
    for child, (first, second) in told.items():
        own = alleles(*child)
        both = alleles(child.species, first), alleles(child.species, second)
        if own is not None and any(both):
            checked += 1
            assert can_have(own, *both), child
    assert checked >= 100


def test_parents_narrow_what_nobody_has_typed(catalogue: Catalogue) -> None:
    """Common knowledge of the trade: Scifresh is of Gala by Braeburn."""
    young = catalogue.varieties[VarietyId("apple", "Scifresh")].fertility
    assert young.genotype is None and "descent" in young.memory
    assert young.descent == Descent(("S2", "S5"), ("S9", "S24"), told=True)
    sport = catalogue.varieties[VarietyId("apple", "Red Falstaff")].fertility
    assert sport.descent == catalogue.varieties[VarietyId("apple", "Falstaff")].fertility.descent
    narrowed = [v for v in catalogue.varieties.values() if v.fertility.descent is not None]
    assert len(narrowed) >= 60
    assert not any(v.fertility.genotype and v.fertility.genotype.complete for v in narrowed)


def test_no_dispute_is_told_twice_of_a_variety(catalogue: Catalogue) -> None:
    disputed = [v.disputes for v in catalogue.varieties.values() if v.disputes]
    assert disputed
    for each in disputed:
        assert len({dispute.property for dispute in each}) == len(each)


def test_times_of_picking_end_after_they_begin(catalogue: Catalogue) -> None:
    facts = [f for v in catalogue.varieties.values() for f in v.facts]
    count = Counter(fact.property for fact in facts)
    assert count["pick_first_day"] == count["pick_last_day"] >= 40
    assert count["keeping_weeks"] >= 100 and count["hardiness_zone"] >= 100
    windows = [w for v in catalogue.varieties.values() for w in v.picking]
    assert len(windows) > 250
    assert all(0 <= window.last - window.first <= 31 for window in windows)


CHILL_STUDIES = {
    # CHILLCOMP: lowest and highest of several studies, whatever the method.
    ("almond", "Ferraduel"): (14.4, 52.9),
    ("sweet cherry", "Burlat"): (41, 86),
    ("sweet cherry", "Cristobalina"): (26.1, 30.4),
    ("apple", "Granny Smith"): (43.5, 72.2),
}


@pytest.mark.parametrize(("key", "between"), CHILL_STUDIES.items())
def test_requirements_of_several_studies(
    catalogue: Catalogue, key: tuple[str, str], between: tuple[float, float]
) -> None:
    chill = catalogue.varieties[VarietyId(*key)].chill
    values = [one.portions for one in chill]
    assert (min(values), max(values)) == pytest.approx(between)
    assert len({one.source for one in chill}) == len(chill) > 1
    assert {one.method for one in chill} <= {"forced", "fitted", ""}


def test_chill_ranges_are_worked_out_as_the_readme_says(catalogue: Catalogue) -> None:
    wanted = {key: astuple(one) for key, one in ranges(catalogue).items()}
    shipped = {
        (fruit, one.chill_class): (one.portions, one.sd_portions, one.sd_studies, one.varieties)
        for fruit in fruits()
        for one in load_chill_ranges(fruit)
        if one.status != "memory"
    }
    assert shipped == wanted
