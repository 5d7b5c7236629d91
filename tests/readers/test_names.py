"""Names on labels: found, found as a synonym, or refused with the nearest names."""

from __future__ import annotations

import pytest

from pollinet.domain import Catalogue, VarietyId
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.names import fold, means_any, resolve_fruit, resolve_variety, spelling


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(fruits())[0]


@pytest.mark.parametrize(
    ("text", "species", "name"),
    [
        ("Fuji", "apple", "Fuji"),
        ("golden delicious", "apple", "Golden Delicious"),
        ("Coxs Orange-Pippin", "apple", "Cox's Orange Pippin"),
        ("Cox’s Orange Pippin", "apple", "Cox's Orange Pippin"),
        ("Beurré Hardy", "pear", "Beurre Hardy"),
        ("Schneiders spate Knorpelkirsche", "sweet cherry", "Schneiders Späte Knorpelkirsche"),
        ("Cakildak", "hazelnut", "Çakıldak"),
    ],
)
def test_case_accents_and_signs_do_not_matter(
    catalogue: Catalogue, text: str, species: str, name: str
) -> None:
    assert resolve_variety(text, species, catalogue) == (VarietyId(species, name), ())


@pytest.mark.parametrize(
    ("text", "species", "name"),
    [
        ("Bartlett", "pear", "Williams"),
        ("comice", "pear", "Doyenne du Comice"),
        ("Sumtare", "sweet cherry", "Sweetheart"),  # SCHUSTER2020: Sweetheart (Sumtare)
        ("Crispin", "apple", "Mutsu"),
    ],
)
def test_synonym_is_told(catalogue: Catalogue, text: str, species: str, name: str) -> None:
    variety, (finding,) = resolve_variety(text, species, catalogue, file="plan.toml", place="x")
    assert variety == VarietyId(species, name)
    assert (finding.severity, finding.code) == ("note", "synonym")
    assert finding.message.startswith(f"{text} = {name}") and finding.where == "plan.toml, x"


# Trade knowledge: what nurseries and handbooks agree on, by the names of several languages.
SAME = """
apple: Reine des Reinettes = King of the Pippins = Goldparmäne = Wintergoldparmäne
apple: Katja = Katy
apple: Cripps Pink = Pink Lady
apple: White Transparent = Yellow Transparent = Klarapfel = Weißer Klarapfel = Papirovka
apple: Duchess of Oldenburg = Borovinka = Charlamowsky = Borowitsky
apple: Cox = Cox's Orange Pippin = Coxs Orange = Cox Orange = Cox Orangenrenette
apple: Boskoop = Belle de Boskoop = Schöner aus Boskoop = Goudreinet = Schoener aus Boskoop
apple: Bramley = Bramleys = Bramley's Seedling = Bramley Seedling
apple: Mutsu = Crispin
apple: Alkmene = Early Windsor
apple: Fiesta = Red Pippin
apple: Blenheim Orange = Goldrenette von Blenheim = Blenheim Pippin
apple: Newtown Pippin = Albemarle Pippin = Yellow Newtown Pippin
apple: Fameuse = Snow = Snow Apple
apple: Gravenstein = Gravensteiner
apple: Red Delicious = Delicious
apple: Rubinette = Rafzubin
apple: Ribston Pippin = Ribston
apple: Shampion = Champion = Szampion
apple: Jazz = Scifresh
apple: Kanzi = Nicoter
apple: Envy = Scilate
apple: Cosmic Crisp = WA 38
apple: SweeTango = Minneiska
apple: Cameo = Caudle
apple: Sundowner = Cripps Red
pear: Williams = Bartlett = Williams Christ = Williams' Bon Chrétien = Williams pear
pear: Comice = Doyenné du Comice = Vereinsdechantsbirne
pear: Beurré Hardy = Hardy = Gellerts Butterbirne
pear: Beurre Bosc = Bosc = Kaiser Alexander = Boscs Flaschenbirne
pear: Clapp's Favourite = Clapps Liebling = Clapp's Favorite
pear: Conference = Conferentie
pear: Abate Fetel = Abbe Fetel
pear: Gute Luise = Louise Bonne of Jersey
pear: Packham's = Packham's Triumph
sour cherry: Schattenmorelle = Rheinische Schattenmorelle = Griotte du Nord = Lutowka = Morello
sour cherry: Balaton = Újfehértói fürtös
sweet cherry: Napoleon = Royal Ann = Bigarreau Napoléon
sweet cherry: Schneiders = Schneiders Späte Knorpelkirsche = Nasenkirsche
sweet cherry: Burlat = Bigarreau Burlat
European plum: Victoria = Queen Victoria = Königin Viktoria = Victoria plum
European plum: Hauszwetschge = Požegača = German Prune = Quetsche d'Alsace
European plum: Italian Prune = Fellenberg = Italienische Zwetsche
European plum: d'Agen = French Prune = Prune d'Ente = Agen
European plum: Oullins Gage = Oullins Golden Gage = Reine Claude d'Oullins
European plum: Greengage = Reine Claude Verte = Große Grüne Reneklode = Green Gage
European plum: Čačanska lepotica = Cacaks Schöne = Čačak Beauty
hazelnut: Hall's Giant = Hallesche Riesennuss = Merveille de Bollwiller
hazelnut: Webb's Prize Cob = Webbs Preisnuss
apricot: Ungarische Beste = Magyar kajszi = Hungarian Best
almond: Texas = Mission
nashi: Nijisseiki = 20th Century = Twentieth Century
nashi: Shinseiki = New Century
peach: Red Haven = Redhaven
"""


def same() -> list[tuple[str, list[str]]]:
    rows = [line.split(": ", 1) for line in SAME.strip().splitlines()]
    return [(species, names.split(" = ")) for species, names in rows]


def test_enough_names_are_known_to_be_the_same() -> None:
    assert sum(len(names) - 1 for _, names in same()) >= 90


@pytest.mark.parametrize(("species", "names"), same())
def test_names_of_one_variety(catalogue: Catalogue, species: str, names: list[str]) -> None:
    found = [resolve_variety(name, species, catalogue)[0] for name in names]
    # A "clone" of its own may stand under another name: then the two are one all the same.
    clones = {None if v is None else catalogue.varieties[v].fertility.clone for v in found}
    assert len(clones) == 1 and None not in clones


@pytest.mark.parametrize(
    ("species", "sport", "parent"),
    [
        ("apple", "Royal Gala", "Gala"),
        ("apple", "Rosy Glow", "Cripps Pink"),
        ("apple", "Jonagored", "Jonagold"),
        ("apple", "Red Prince", "Jonagold"),
        ("apple", "Queen Cox", "Cox's Orange Pippin"),
        ("apple", "Roter Boskoop", "Belle de Boskoop"),
        ("apple", "Starking", "Delicious"),
        ("apple", "Kiku", "Fuji"),
        ("pear", "Red Anjou", "Beurre d'Anjou"),
        ("pear", "Red Bartlett", "Williams"),
        ("pear", "Sweet Sensation", "Doyenne du Comice"),
        ("sweet cherry", "Compact Stella", "Stella"),
        ("European plum", "Early Italian", "Italian Prune"),
        ("nashi", "Gold Nijisseiki", "Nijisseiki"),
    ],
)
def test_sports_are_tied_to_their_parents(
    catalogue: Catalogue, species: str, sport: str, parent: str
) -> None:
    found, _ = resolve_variety(sport, species, catalogue)
    assert found is not None and found.name != parent
    assert catalogue.varieties[found].fertility.clone == parent


def test_name_under_which_fruit_is_sold_only_finds_the_variety(catalogue: Catalogue) -> None:
    """Pink Lady is sold fruit of Cripps Pink (trade knowledge): the name heads no variety."""
    variety, (finding,) = resolve_variety("pink lady", "apple", catalogue)
    assert variety == VarietyId("apple", "Cripps Pink") and finding.code == "trade-name"
    assert catalogue.trade_names
    assert not catalogue.trade_names & set(catalogue.varieties)
    assert catalogue.trade_names <= set(catalogue.synonyms)


@pytest.mark.parametrize(
    ("species", "text", "names"),
    [
        ("hazelnut", "Kentish Cob", ("DuChilly", "Lambert's Filbert")),
        ("European plum", "Imperial Gage", ("Denniston's Superb", "Prince's Imperial Gage")),
        ("sour cherry", "Morello", ("Rheinische Schattenmorelle", "Ostheimer Weichsel")),
    ],
)
def test_name_of_two_varieties_names_both(
    catalogue: Catalogue, species: str, text: str, names: tuple[str, str]
) -> None:
    variety, (finding,) = resolve_variety(text, species, catalogue)
    assert variety == VarietyId(species, names[0])
    assert (finding.severity, finding.code) == ("warning", "ambiguous-name")
    assert all(name in finding.message for name in names)


@pytest.mark.parametrize(
    ("text", "other"),
    [
        ("Büttners Rote", "Buettners Rote"),
        ("Saint Edmund's Pippin", "St. Edmunds Pippin"),
        ("King Edward VII", "King Edward 7"),
        ("Cox's", "Cox"),
        ("Oliver and Senator", "Oliver & Senator"),
        ("No. 5", "Number 5"),
        ("Golden Delicious", "golden-delicious"),
    ],
)
def test_ways_of_writing_one_name(text: str, other: str) -> None:
    assert spelling(text) == spelling(other)


@pytest.mark.parametrize(("text", "other"), [("Gala", "Galaxy"), ("Kelleriis 14", "Kelleriis 16")])
def test_other_names_are_written_otherwise(text: str, other: str) -> None:
    assert spelling(text) != spelling(other)


def test_other_spelling_is_told_and_never_hides_a_name(catalogue: Catalogue) -> None:
    variety, (finding,) = resolve_variety("Fuji apples", "apple", catalogue)
    assert variety == VarietyId("apple", "Fuji")
    assert (finding.code, finding.message[:18]) == ("spelling", "Fuji apples = Fuji")
    # A name that is one as it stands is not another without the word for the fruit.
    for one in catalogue.varieties:
        assert resolve_variety(one.name, one.species, catalogue) == (one, ())


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("?", True), ("any", True), ("crab apple", True), ("unknown apple", True),
        ("wild apple", True), ("Apfelbaum", True), ("Grandma's red", False), ("apples", True),
        ("unbekannter Apfel", True),
    ],
)  # fmt: skip
def test_names_that_mean_any_variety(text: str, means: bool) -> None:
    assert means_any(text, fruits()["apple"]) is means


def test_unknown_name_offers_the_nearest_and_takes_none(catalogue: Catalogue) -> None:
    variety, (finding,) = resolve_variety(
        "Golden Delicous", "apple", catalogue, file="p", place="q"
    )
    assert variety is None
    assert (finding.severity, finding.code) == ("error", "unknown-variety")
    assert "Golden Delicious" in finding.cure and finding.where == "p, q"


def test_name_of_another_fruit_is_unknown_and_says_so(catalogue: Catalogue) -> None:
    variety, (finding,) = resolve_variety("bing", "apple", catalogue)
    assert variety is None and finding.code == "unknown-variety"
    assert finding.message.endswith("it is one of sweet cherry.")


def test_own_variety_goes_first(catalogue: Catalogue) -> None:
    own = ("Bartlett", "Hedge Pear")
    for text, name in {"Bartlett": "Bartlett", "hedge-pear": "Hedge Pear"}.items():
        assert resolve_variety(text, "pear", catalogue, own=own) == (VarietyId("pear", name), ())


def test_equally_near_own_names_are_not_guessed(catalogue: Catalogue) -> None:
    variety, (finding,) = resolve_variety(
        "oldtree", "pear", catalogue, own=("Old Tree", "Old-tree")
    )
    assert variety is None and finding.code == "ambiguous-variety"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("apple", "apple"),
        ("Malus domestica", "apple"),
        ("European pear", "pear"),
        ("nectarine", "peach"),
        ("Prunus avium", "sweet cherry"),
        ("Sweet-Cherry", "sweet cherry"),
        ("japanese plum", "Japanese plum"),
        ("filbert", "hazelnut"),
        ("hazel", "hazelnut"),
        ("cob nut", "hazelnut"),
        # German names: Duden.
        ("Haselnuß", "hazelnut"),
        ("Apfel", "apple"),
        ("Birne", "pear"),
        ("Kirsche", "sweet cherry"),
        ("Süsskirsche", "sweet cherry"),
        ("Sauerkirsche", "sour cherry"),
        ("Zwetschge", "European plum"),
        ("Aprikose", "apricot"),
        ("Pfirsich", "peach"),
        ("Mandel", "almond"),
        ("apples", "apple"),
        ("plums", "European plum"),
        ("Cherries", "sweet cherry"),
        ("peaches", "peach"),
        ("Äpfel", "apple"),
        ("Aepfel", "apple"),
        ("Birnen", "pear"),
        ("Pflaumen", "European plum"),
        ("Haselnüsse", "hazelnut"),
    ],
)
def test_fruit_by_any_of_its_names(text: str, name: str) -> None:
    assert resolve_fruit(text, fruits()) == (name, ())


def test_unknown_fruit_offers_the_nearest() -> None:
    name, (finding,) = resolve_fruit("aple", fruits(), file="plan.toml", place="tree[1].species")
    assert name is None
    assert finding.code == "unknown-fruit" and finding.cure.startswith("Nearest: apple")
    assert finding.where == "plan.toml, tree[1].species"


@pytest.mark.parametrize("text", ["quince", "Quinces", "Quitten", "medlar", "Cydonia oblonga"])
def test_fruit_that_needs_no_donor_may_be_left_out(text: str) -> None:
    """Quinces and medlars are self-fertile by growers' common advice."""
    name, (finding,) = resolve_fruit(text, fruits())
    assert name is None and finding.code == "unknown-fruit"
    assert "leave it out of the plan" in finding.cure


def test_no_fruit_of_the_catalogue_is_said_to_need_no_donor() -> None:
    for fruit in fruits().values():
        for text in (fruit.name, fruit.latin, *fruit.other_names):
            assert resolve_fruit(text, fruits())[0] is not None


def test_fold_keeps_letters_of_any_script() -> None:
    assert fold("Ярославна") and fold("Weiße Herzkirsche") == fold("WEISSE HERZKIRSCHE")
