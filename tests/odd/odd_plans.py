"""Odd plans: every key with every wrong type, numbers out of reason, texts that hide something,
repeated and missing things, other encodings, damage, and gardens that cannot be meant."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator, Sequence
from typing import Any

import gardens
from oddities import SOUND, Case, Expect, Raw, as_bytes, flipped, sound_plan, toml_text

CHECK = ("check", "PLAN", "--json")
Way = tuple[str | int, ...]

NORMALS = {
    "years": [1991, 2020],
    "tmin_c": list(gardens.NORMALS.tmin_c),
    "tmax_c": list(gardens.NORMALS.tmax_c),
}


def case(
    kind: str, name: str, expect: Expect, content: Any, named: str = "", words: Any = CHECK
) -> Case:
    """A case of a plan: its data, its text or its bytes."""
    if isinstance(content, dict):
        content = toml_text(content)
    at = "plan.toml" if expect in ("refused", "told") else ""
    return Case(kind, name, expect, words, {"plan.toml": as_bytes(content)}, at, named)


def changed(way: Way, value: Any, base: dict[str, Any] | None = None) -> dict[str, Any]:
    """The sound plan with another value at a place of it; None: with nothing there."""
    plan = copy.deepcopy(base or sound_plan())
    holder: Any = plan
    for part in way[:-1]:
        holder = holder[part]
    if value is None:
        del holder[way[-1]]
    else:
        holder[way[-1]] = value
    return plan


def with_normals() -> dict[str, Any]:
    """The sound plan with monthly normals, and without what shortens the search for weather."""
    plan = sound_plan()
    plan["site"]["normals"] = copy.deepcopy(NORMALS)
    return plan


def leaves(value: Any, way: Way = ()) -> Iterator[tuple[Way, Any]]:
    """Every value of a plan with the way to it; of a list of tables the first one."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield from leaves(one, (*way, key))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        yield from leaves(value[0], (*way, 0))
    else:
        yield way, value


def words_of(way: Way) -> str:
    """A way as the name of a case."""
    return ".".join(str(part) for part in way if part != 0)


# --- types and numbers -------------------------------------------------------------------------

WRONG: dict[str, Any] = {
    "bool": True,
    "int": 3,
    "float": 2.5,
    "text": "three",
    "list": [1, 2, 3],
    "table": {"a": 1},
    "date": Raw("2026-04-12"),
    "time": Raw("07:32:00"),
}


def type_swaps() -> Iterator[Case]:
    """A value of each type at every key that asks for another one."""
    for way, sound in leaves(sound_plan() | {"site": with_normals()["site"]}):
        own = {bool: "bool", int: "int", float: "float", str: "text", list: "list"}[type(sound)]
        for kind, value in WRONG.items():
            if kind == own or (own, kind) == ("float", "int"):
                continue
            base = with_normals() if "normals" in way else None
            yield case(
                "type",
                f"{words_of(way)}={kind}",
                "refused",
                changed(way, value, base),
                str(way[-1]),
            )


NUMBERS: dict[str, Any] = {
    "below": -1e9,
    "above": 1e12,
    "nan": Raw("nan"),
    "inf": Raw("inf"),
    "-inf": Raw("-inf"),
    "digits": Raw("9" * 5000),
    "hex": Raw("0x" + "f" * 500),
    "tiny": Raw("1e-320"),
    "text": "12",
}


def numbers() -> Iterator[Case]:
    """Numbers that no value of a plan can be."""
    plan = sound_plan()
    ways = [way for way, value in leaves(plan) if type(value) in (int, float)]
    ways += [("tree", 0, "position_m", 0), ("variety", 1, "bloom_days", 0)]
    small = (
        "latitude",
        "longitude",
        "elevation_m",
        0,
        "bloom_sd_days",
        "distance_m",
        "level",
        "min_overlap_days",
        "near_m",
        "far_m",
    )
    for way in ways:
        key = next(str(part) for part in reversed(way) if isinstance(part, str))
        for kind, value in NUMBERS.items():
            # A share next to none, and a day next to none, ask for one winter and one hour.
            if kind == "tiny" and way[-1] in small:
                continue
            named = "" if kind == "digits" else key
            yield case("number", f"{words_of(way)}={kind}", "refused", changed(way, value), named)


# --- texts -------------------------------------------------------------------------------------

HIDDEN = {
    "NUL": "\x00",
    "bell": "\x07",
    "escape": "\x1b[31m",
    "newline": "\n",
    "return": "\r",
    "delete": "\x7f",
    "C1": "\x9b31m",
    "override": "\u202e",
    "isolate": "\u2066",
    "line separator": "\u2028",
    "zero width": "\u200b",
    "byte order mark": "\ufeff",
    "no letter": "\uffff",
    "private": "\ue000",
}
"""What steers a terminal, turns a line round, or is not seen."""


def texts() -> Iterator[Case]:
    """Texts that hide something, are blank, or have no end."""
    for way, value in leaves(sound_plan()):
        is_list = isinstance(value, list)
        if not isinstance(value[0] if is_list and value else value, str) or "bloom" in way:
            continue
        odd = {name: f"a{sign}b" for name, sign in HIDDEN.items()}
        odd |= {"blank": " ", "empty": "", "giant": "x" * 100_000}
        for name, text in odd.items():
            plan = changed(way, [text] if is_list else text)
            yield case("text", f"{words_of(way)}: {name}", "refused", plan, str(way[-1]))


IDS = {
    "all": "refused",
    "ALL": "refused",
    "--json": "refused",
    "-x": "refused",
    "-": "refused",
    " low": "refused",
    "low ": "refused",
    "#low": "refused",
    "../../etc/passwd": "same",
    "/tmp/x": "same",
    "C:\\x": "same",
    "CON": "same",
    "=1+1": "same",
    "low|mid": "same",
    "a,b": "same",
    '"': "same",
    "<b>": "same",
    "{limb}": "same",
    "%s": "same",
    "nan": "same",
    "1e5": "same",
    "שלום": "same",
    "樱桃": "same",
    "🍒": "same",
    "e\u0301": "same",
}
"""Ids, and whether they can be meant: what is no more than strange stays a name."""


def ids() -> Iterator[Case]:
    """Ids that are reserved, look like options, paths, formulas or marks of a language."""
    for number, (name, expect) in enumerate(IDS.items()):
        for way in (("tree", 0, "limb", 1, "id"), ("neighbour", 0, "id")):
            plan = changed(way, name)
            told = "any" if expect == "same" else "refused"
            yield case("id", f"{way[0]} {number} {name}", told, plan, "id" if told != "any" else "")
    for name in ("cherry", "low", "Low", "LOW"):
        plan = changed(("tree", 0, "limb", 1, "id"), name)
        expect = {"low": "refused", "cherry": "any"}.get(name, "told")
        yield case("id", f"again {name}", expect, plan, "low" if name == "low" else "")
    for way in (
        ("tree", 0, "limb", 1, "former_ids"),
        ("tree", 0, "lost_limbs"),
        ("site", "lost_neighbours"),
        ("neighbour", 0, "former_ids"),
    ):
        for names in (["low"], ["x", "x"], ["top"]):
            way_words = words_of(way)
            yield case("id", f"{way_words} {names}", "refused", changed(way, names), names[0])


# --- what stands there twice, not at all, or is none of it -------------------------------------


def keys() -> Iterator[Case]:
    """Keys that are not known, that stand twice, that are missing."""
    text = SOUND["plan.toml"].decode()
    for way, _ in leaves(sound_plan()):
        key = str(way[-1])
        holder = way[:-1]
        for wrong in (f"{key}s", key.upper(), f"{key} "):
            plan = changed((*holder, f'"{wrong}"'), 1)
            yield case("key", f"{words_of(holder)}.{wrong}", "refused", plan, wrong.strip())
    for line in dict.fromkeys(text.splitlines()):
        if " = " in line:
            twice = text.replace(line, f"{line}\n{line}", 1)
            yield case("twice", line, "refused", twice, "line")
    for head in ("[site]", "[aim]"):
        yield case("twice", head, "refused", f"{text}\n{head}\n", "line")
    needed = [
        ("tree", 0, "id"),
        ("tree", 0, "species"),
        ("tree", 0, "limb", 0, "id"),
        ("tree", 0, "limb", 0, "variety"),
        ("neighbour", 0, "species"),
        ("neighbour", 0, "variety"),
        ("neighbour", 0, "distance_m"),
        ("scion", 0, "species"),
        ("scion", 0, "variety"),
        ("variety", 0, "species"),
        ("variety", 0, "name"),
    ]
    for way in needed:
        yield case("missing", words_of(way), "refused", changed(way, None), str(way[-1]))
    yield case("missing", "tree", "refused", changed(("tree",), None), "tree")
    yield case("missing", "limb", "refused", changed(("tree", 0, "limb"), []), "cherry")
    again = sound_plan()
    again["variety"].append(again["variety"][0])
    yield case("twice", "variety", "refused", again, "Van")
    again = sound_plan()
    again["tree"].append(again["tree"][0])
    yield case("twice", "tree", "refused", again, "cherry")
    again = sound_plan()
    again["scion"].append(again["scion"][0])
    yield case("twice", "scion", "told", again, "Stella")


def names() -> Iterator[Case]:
    """Names of fruits and varieties that are none, or those of something else."""
    for wrong in ("cherry tree", "sweet cherries and plums", "Van", "?", "banana", "sweet\tcherry"):
        yield case("name", f"fruit {wrong}", "refused", changed(("tree", 0, "species"), wrong))
    way: tuple[str | int, ...] = ("tree", 0, "limb", 0, "variety")
    for wrong in ("Vann", "Conference", "S1S3", "Van x Regina"):
        yield case("name", f"variety {wrong}", "refused", changed(way, wrong), "variety")
    for lost in ("?", "unknown", "sweet cherry"):
        yield case("name", f"variety {lost}", "told", changed(way, lost), "variety")
    for wrong in ("S1S3S4", "QQ", "S1-S3-S9-S2", "S0S99", "S1S3 x", "1/3"):
        way = ("variety", 0, "s_genotype")
        yield case("name", f"genotype {wrong}", "told", changed(way, wrong), "s_genotype")
    for wrong in ("Our sport", "Nobody", "Regina x Van"):
        way = ("variety", 4, "clone_of")
        yield case("name", f"clone of {wrong}", "refused", changed(way, wrong), "clone")


# --- encodings and damage ----------------------------------------------------------------------


def encodings() -> Iterator[Case]:
    """Other encodings and line ends of the same text."""
    text = toml_text(changed(("site", "name"), "Höfe")).replace("\n", "\n# Äpfel\n", 3)
    plain = SOUND["plan.toml"]
    same = {
        "BOM": b"\xef\xbb\xbf" + plain,
        "CRLF": plain.replace(b"\n", b"\r\n"),
        "CR": plain.replace(b"\n", b"\r"),
        "mixed ends": plain.replace(b"\n", b"\r\n", 9),
        "no end": plain.rstrip(),
        "giant remark": b"# " + b"x" * 2_000_000 + b"\n" + plain,
        "blank lines": plain.replace(b"\n", b"\n\n\n"),
    }
    for name, content in same.items():
        yield case("encoding", name, "same", content)
    wrong = {
        "UTF-16 little": text.encode("utf-16"),
        "UTF-16 big": b"\xfe\xff" + text.encode("utf-16-be"),
        "UTF-32": text.encode("utf-32"),
        "Latin-1": text.encode("latin-1"),
        "cp1252": text.encode("cp1252"),
        "two BOMs": b"\xef\xbb\xbf\xef\xbb\xbf" + plain,
        "NUL": plain.replace(b"a slope", b"a\0slope"),
        "NULs": b"\0" * 5000,
        "end of file": plain + b"\x1a",
        "bytes": bytes(range(256)) * 9,
        "surrogate": plain.replace(b"a slope", b"\xed\xa0\x80"),
        "overlong": plain.replace(b"a slope", b"\xc0\xaf"),
        "gzip": b"\x1f\x8b\x08\x00" + plain,
        "PDF": b"%PDF-1.7\n" + plain,
    }
    for name, content in wrong.items():
        yield case("encoding", name, "refused", content)


def damage() -> Iterator[Case]:
    """Files cut short, other formats, depth and length without measure."""
    plain = SOUND["plan.toml"]
    for tenth in range(1, 20):
        yield case("cut", f"{tenth} of 20", "any", plain[: len(plain) * tenth // 20])
    chance = random.Random(7)
    for number in range(40):
        signs = b' "[]{}=#,.\n\\0aA\xff\t'
        broken = flipped(plain, chance.randint(1, 6), signs, chance)
        yield case("flipped", str(number), "any", broken)
    lines = plain.decode().splitlines(keepends=True)
    for number in range(20):
        mixed = lines[:]
        one, two = chance.sample(range(len(mixed)), 2)
        mixed[one], mixed[two] = mixed[two], mixed[one]
        yield case("moved", str(number), "any", "".join(mixed))
    other = {
        "empty": b"",
        "blank": b"\n \t\n",
        "remark": b"# nothing\n",
        "JSON": b'{"site": {"name": "a slope"}}',
        "YAML": b"site:\n  name: a slope\n",
        "CSV": SOUND["records.csv"],
        "HTML": b"<!doctype html><html></html>",
        "INI": b"[site]\nname = a slope\n",
    }
    for name, content in other.items():
        yield case("other format", name, "refused", content)
    text = plain.decode()
    deep = {
        "lists": text.replace("420.0", "[" * 5000, 1),
        "closed lists": text.replace("420.0", "[" * 5000 + "]" * 5000, 1),
        "tables": text.replace("420.0", "{a=" * 5000, 1),
        "dots": text.replace("elevation_m", ".".join("a" * 2000), 1),
        "heading": text + "[" + ".".join("a" * 2000) + "]\n",
        "many dots": text.replace("elevation_m", ".".join(["a"] * 20_000), 1),
        "headings": text + "".join(f"[a{number}]\n" for number in range(3000)),
        "keys": text.replace("[aim]", "\n".join(f"k{n} = 1" for n in range(3000)) + "\n[aim]", 1),
        "dotted keys": "".join(f"a.b{n}.c = 1\n" for n in range(20_000)) + text,
        "one parent": text + "[x]\n" + "".join(f"a.b.c.d.e{n} = 1\n" for n in range(20_000)),
        "quotes": text.replace('"a slope"', '"' * 9999, 1),
        "no end of text": text.replace('"a slope"', '"a slope', 1),
        "backslashes": text.replace('"a slope"', '"' + "\\" * 999 + '"', 1),
        "long list": text.replace("[0.0, 0.0]", "[" + "0.0, " * 200_000 + "]", 1),
    }
    for name, content in deep.items():
        yield case("depth", name, "refused", content)


# --- what cannot be meant ----------------------------------------------------------------------


def _normals(**values: Any) -> dict[str, Any]:
    plan = with_normals()
    plan["site"]["normals"] |= values
    return plan


def places() -> Iterator[Case]:
    """A garden where no such fruit grows, and weather of nowhere on earth."""
    low, high = NORMALS["tmin_c"], NORMALS["tmax_c"]
    on_earth = {
        "equator": ({"latitude": 0.0}, "told"),
        "near the equator": ({"latitude": 7.2, "longitude": 46.4}, "told"),
        "angles exchanged": ({"latitude": 7.2, "longitude": 46.4, "elevation_m": 420.0}, "told"),
        "north pole": ({"latitude": 90.0}, "refused"),
        "south": ({"latitude": -80.0}, "refused"),
        "date line": ({"longitude": 180.5}, "refused"),
        "below the sea": ({"elevation_m": -431.0}, "refused"),
        "summit": ({"elevation_m": 8848.0}, "refused"),
        "feet": ({"elevation_m": 6890.0}, "refused"),
        "high": ({"latitude": 46.4, "elevation_m": 4200.0}, "told"),
        "hundredths": ({"latitude": 4640.0}, "refused"),
        "text": ({"latitude": "46° 24' N"}, "refused"),
    }
    for name, (values, expect) in on_earth.items():
        plan = sound_plan()
        plan["site"] |= values
        # Without typed bloom the place tells when everything blooms.
        plan["variety"] = [one for one in plan["variety"] if one["name"] == "Our sport"]
        del plan["variety"][0]["bloom"]
        yield case("place", name, expect, plan)  # type: ignore[arg-type]
    normals = {
        "Fahrenheit": ([x * 1.8 + 32 for x in low], [x * 1.8 + 32 for x in high]),
        "Kelvin": ([x + 273.15 for x in low], [x + 273.15 for x in high]),
        "tenths": ([x * 10 for x in low], [x * 10 for x in high]),
        "49 °C": ([47.0] * 12, [49.0] * 12),
        "49 °C in July": (low, [*high[:6], 49.0, *high[7:]]),
        "exchanged": (high, low),
        "the same": (high, high),
        "the same in a month": ([*low[:3], high[3], *low[4:]], high),
        "one value": ([5.0] * 12, [15.0] * 12),
        "zero": ([0.0] * 12, [0.0] * 12),
        "other half of the earth": (low[6:] + low[:6], high[6:] + high[:6]),
        "ice": ([x - 40 for x in low], [x - 40 for x in high]),
        "a month in °F": ([*low[:6], 58.0, *low[7:]], [*high[:6], 79.7, *high[7:]]),
        "one month of winter in July": ([*low[:6], -9.0, *low[7:]], [*high[:6], 1.0, *high[7:]]),
        "shuffled": (low[::2] + low[1::2], high[::2] + high[1::2]),
        "span of 60": ([x - 30 for x in low], [x + 30 for x in high]),
    }
    for name, (tmin, tmax) in normals.items():
        plan = _normals(tmin_c=tmin, tmax_c=tmax)
        yield case("normals", name, "told", plan)
    for name, values in {
        "eleven": {"tmin_c": low[:11]},
        "thirteen": {"tmax_c": [*high, 5.0]},
        "a gap": {"tmin_c": [*low[:11], Raw("nan")]},
        "no end": {"tmin_c": [*low[:11], Raw("-inf")]},
        "words": {"tmin_c": [str(x) for x in low]},
        "years": {"years": [2020, 1991]},
        "one year": {"years": [1991]},
        "three years": {"years": [1991, 2000, 2020]},
        "year 0": {"years": [0, 2020]},
        "year 9999": {"years": [1991, 9999]},
        "surplus": {"rain_mm": low},
    }.items():
        yield case("normals", name, "refused", _normals(**values), "normals")
    yield case("normals", "years to come", "told", _normals(years=[2150, 2190]), "years")


BLOOM: Sequence[tuple[Any, Expect]] = (
    (["04-20", "04-10"], "refused"),
    (["31-04", "05-10"], "refused"),
    (["04-31", "05-10"], "refused"),
    (["02-30", "03-10"], "refused"),
    (["13-01", "13-10"], "refused"),
    (["00-10", "04-20"], "refused"),
    (["10.04.", "20.04."], "refused"),
    (["4/10", "4/20"], "refused"),
    (["10 April", "20 April"], "any"),
    (["2026-04-10", "2026-04-20"], "refused"),
    (["04-10"], "refused"),
    (["04-10", "04-20", "04-30"], "refused"),
    ([], "refused"),
    ([[]], "refused"),
    ([["04-10", "04-20"], ["04-22", "04-12"]], "refused"),
    ([["04-10", "04-20"], "04-22"], "refused"),
    ([[["04-10", "04-20"]]], "refused"),
    ("04-10", "refused"),
    ([Raw("2026-04-10"), Raw("2026-04-20")], "refused"),
    (["11-10", "11-20"], "told"),
    (["08-10", "08-20"], "told"),
    (["01-01", "12-31"], "refused"),
    (["04-10", "08-20"], "told"),
    (["04-10", "04-10"], "any"),
    (["02-29", "03-10"], "any"),
    ([True, False], "refused"),
    ([100, 110], "any"),
)

DAYS: Sequence[tuple[Any, Expect]] = (
    ([1, 366], "refused"),
    ([0, 10], "refused"),
    ([110, 100], "refused"),
    ([100, 367], "refused"),
    ([-5, 5], "refused"),
    ([100.5, 110.25], "any"),
    ([60, 200], "refused"),
    ([310, 320], "told"),
    ([Raw("nan"), 110], "refused"),
    ([100, Raw("inf")], "refused"),
    ([20260410, 20260420], "refused"),
    ([46122, 46132], "refused"),
    (["100", "110"], "refused"),
    ([[100, 110]] * 5000, "any"),
)


def dates() -> Iterator[Case]:
    """Days of bloom in other orders, backwards, out of season; years that cannot be."""
    for number, (value, expect) in enumerate(BLOOM):
        plan = changed(("variety", 0, "bloom"), value)
        yield case("bloom", f"{number} {value}", expect, plan, "bloom" * (expect != "any"))
    for number, (value, expect) in enumerate(DAYS):
        plan = changed(("variety", 1, "bloom_days"), value)
        shown = str(value)[:30]
        yield case("bloom", f"days {number} {shown}", expect, plan, "bloom" * (expect != "any"))
    both = changed(("variety", 0, "bloom_days"), [100, 110])
    yield case("bloom", "both", "refused", both, "bloom")
    shed = changed(("variety", 0, "pollen_shed"), ["04-01", "04-05"])
    yield case("bloom", "shed", "refused", shed, "pollen_shed")
    for year, expect in (
        (0, "refused"),
        (-5, "refused"),
        (1799, "refused"),
        (2201, "refused"),
        (9999, "refused"),
        (15, "refused"),
        (20150412, "refused"),
        (2190, "told"),
    ):
        plan = changed(("tree", 0, "limb", 0, "grafted"), year)
        yield case("year", f"grafted {year}", expect, plan, "grafted")  # type: ignore[arg-type]
    for metres, expect in ((-1.0, "refused"), (6000.0, "refused"), (0.0, "any")):
        plan = changed(("neighbour", 0, "distance_m"), metres)
        yield case("metres", str(metres), expect, plan, "distance_m" * (expect != "any"))  # type: ignore[arg-type]
    for near, far in ((60.0, 20.0), (20.0, 20.0), (0.0, 60.0), (20.0, -1.0), (5001.0, 6000.0)):
        plan = sound_plan()
        plan["aim"] |= {"near_m": near, "far_m": far}
        yield case("metres", f"near {near} far {far}", "refused", plan, "_m")


def many() -> Iterator[Case]:
    """Gardens without measure: they take long at most in proportion."""
    plan = sound_plan()
    plan["tree"][0]["limb"] = [
        {"id": f"limb {number}", "variety": ("Van", "Kordia")[number % 2]} for number in range(300)
    ]
    yield case("many", "300 limbs", "any", plan)
    plan = sound_plan()
    plan["scion"] = [{"species": "sweet cherry", "variety": "Stella"}] * 2000
    yield case("many", "2000 scions", "told", plan)
    plan = sound_plan()
    plan["neighbour"] = [{"species": "sweet cherry", "variety": "Regina", "distance_m": 30.0}] * 200
    yield case("many", "200 neighbours", "any", plan)
    plan = sound_plan()
    plan["tree"][0]["limb"][0]["former_ids"] = [f"was {number}" for number in range(5000)]
    yield case("many", "5000 former ids", "any", plan)
    plan = sound_plan()
    plan["tree"][0]["limb"] = [{"id": "low", "variety": "Nobody knows"}] * 2000
    yield case("many", "2000 wrong limbs", "refused", plan, "low")


def cases() -> list[Case]:
    """All odd plans."""
    made = (type_swaps, numbers, texts, ids, keys, names, encodings, damage, places, dates, many)
    return [one for make in made for one in make()]
