"""Odd own tables beside a plan, tables of pairs, and varieties described on the line."""

from __future__ import annotations

import random
from collections.abc import Iterator

from odd_plans import HIDDEN
from oddities import Case, Expect, as_bytes, flipped

FRUIT = "sour cherry"
LIST = ("varieties", FRUIT, "--folder", "FOLDER", "--json")

FACTS_HEAD = "variety,property,value,unit,context,source,status,note"
FACTS = {
    "genotype": "Dusk,s_genotype,S6S9,,,own,plan,",
    "bloom": "Dusk,vigour,low,,,own,plan,as the neighbour says",
    "chill": "Dusk,chill_portions,45,portions,,own,plan,",
    "ploidy": "Dusk,ploidy,4,,,own,plan,",
}
SYNONYMS_HEAD = "name,variety,kind,source,status,note"
SYNONYM = "Evening,Dusk,registered,own,plan,"
PAIRS_HEAD = "female,male,result,fruit_set_pct,kind,context,source,status,note"
PAIR = "Dusk,Schattenmorelle,compatible,30,measured cross,,own,plan,"
PLACE = "catalogues/sour_cherry/"


def facts(*rows: str, head: str = FACTS_HEAD) -> str:
    """A table of facts."""
    return "\n".join([head, *rows]) + "\n"


def table(
    kind: str, name: str, expect: Expect, text: str | bytes, named: str = "", path: str = ""
) -> Case:
    """A case of one own table."""
    file = path or "facts.csv"
    at = file if expect in ("refused", "told") else ""
    return Case(kind, name, expect, LIST, {PLACE + file: as_bytes(text)}, at, named)


def cells() -> Iterator[Case]:
    """Each cell of a row of facts made odd."""
    sound = FACTS["genotype"].split(",")
    odd = {
        "empty": "",
        "blank": "  ",
        "giant": "x" * 200_000,
        "formula": "=1+1",
        "option": "--json",
        "number": "1e400",
        "words": "no such thing",
    }
    odd |= {name: f"a{sign}b" for name, sign in HIDDEN.items() if name not in ("newline", "return")}
    free = {
        "variety": ("formula", "option", "number", "words"),
        "note": ("empty", "blank", "formula", "option", "number", "words"),
        "context": ("empty", "blank"),
        "unit": ("empty", "blank"),
    }
    for number, column in enumerate(FACTS_HEAD.split(",")):
        for name, text in odd.items():
            row = [*sound[:number], text, *sound[number + 1 :]]
            expect: Expect = "any" if name in free.get(column, ()) else "refused"
            yield table(
                "cell",
                f"{column} {name}",
                expect,
                facts(",".join(row)),
                "2" if expect == "refused" else "",
            )
    values = {
        "s_genotype": ("S", "6", "S6S9S13S1S2S3S4", "S6-", "S6xS9", "QQ", "S" * 999),
        "chill_portions": ("nan", "inf", "-5", "1e9", "45 CP", "4,5", "", "0x2D", "a lot"),
        "ploidy": ("2.5", "0", "-2", "99", "nan", "diploid", "1e1"),
        "vigour": ("huge", "3", "low or medium", "-"),
        "first_bloom_day": ("-1", "367", "10 Apr", "2026-04-10", "nan", "1e9", "04-10"),
        "self_fertile": ("maybe", "1", "True!", "nein"),
    }
    units = {"chill_portions": "portions", "first_bloom_day": "day of year"}
    for name, texts in values.items():
        for text in texts:
            quoted = f'"{text}"' if "," in text else text
            row = f"Dusk,{name},{quoted},{units.get(name, '')},,own,plan,"
            yield table("value", f"{name} {text}", "refused", facts(row), "2")
    for unit in ("°F", "K", "h", "hours", "CP", "CU", "portions of chill", "5"):
        row = f"Dusk,chill_portions,45,{unit},,own,plan,"
        yield table("unit", unit, "refused", facts(row), "")


def tables() -> Iterator[Case]:
    """Heads, rows, keys, encodings and damage of own tables."""
    row = FACTS["genotype"]
    for column in FACTS_HEAD.split(","):
        head = FACTS_HEAD.replace(column, f"{column}s", 1)
        yield table("head", f"{column} renamed", "refused", facts(row, head=head), column)
        head = f"{FACTS_HEAD},{column}"
        yield table("head", f"{column} twice", "refused", facts(f"{row},", head=head), column)
    yield table("head", "none", "refused", row + "\n")
    yield table("head", "surplus", "told", facts(f"{row},x", head=f"{FACTS_HEAD},colour"), "colour")
    yield table("head", "semicolons", "refused", facts(row).replace(",", ";"))
    yield table("head", "tabs", "refused", facts(row).replace(",", "\t"))
    yield table(
        "head",
        "other order",
        "any",
        "value,variety,property,unit,context,source,status,note\nS6S9,Dusk,s_genotype,,,own,plan,\n",
    )
    yield table("row", "short", "refused", facts("Dusk,s_genotype,S6S9"), "2")
    yield table("row", "long", "refused", facts(f"{row},,,"), "2")
    yield table("row", "twice", "told", facts(row, row), "3")
    yield table("row", "two values", "refused", facts(row, row.replace("S9", "S4")), "3")
    yield table("row", "exchanged", "refused", facts("s_genotype,Dusk,S6S9,,,own,plan,"), "2")
    yield table("row", "quote not closed", "refused", facts('"Dusk,s_genotype,S6S9,,,own,plan,'))
    yield table("row", "quote over lines", "refused", facts('"Dusk', row))
    yield table("row", "head again", "refused", facts(row, FACTS_HEAD), "3")
    yield table("row", "no source", "refused", facts("Dusk,s_genotype,S6S9,,,NOSUCH,plan,"), "2")
    yield table(
        "row", "no context", "refused", facts("Dusk,s_genotype,S6S9,,nowhere,own,plan,"), "2"
    )
    yield table(
        "row", "many", "any", facts(*(row.replace("Dusk", f"Dusk {n}") for n in range(3000)))
    )
    yield table("row", "many wrong", "refused", facts(*[row.replace("S6S9", "QQ")] * 3000), "QQ")
    text = facts(row)
    for name, content in {
        "UTF-16": text.encode("utf-16"),
        "Latin-1": text.replace("Dusk", "Dämmerung").encode("latin-1"),
        "NULs": b"\0" * 999,
        "bytes": bytes(range(256)) * 4,
        "spreadsheet": b"PK\x03\x04\x14\x00" + bytes(range(128, 256)),
        "JSON": b'{"variety": "Dusk"}',
        "empty": b"",
        "blank": b"\n\n",
    }.items():
        yield table("encoding", name, "refused", content)
    for name, content in {
        "BOM": b"\xef\xbb\xbf" + text.encode(),
        "CRLF": text.replace("\n", "\r\n").encode(),
        "CR": text.replace("\n", "\r").encode(),
        "remark": b"# mine\n" + text.encode(),
    }.items():
        yield table("encoding", name, "any", content)
    for tenth in range(1, 10):
        yield table("cut", f"{tenth} of 10", "any", text[: len(text) * tenth // 10])
    chance = random.Random(5)
    for number in range(20):
        sound, signs = facts(*FACTS.values()).encode(), b' ",;\n\r\\0aA\xff\t#'
        broken = flipped(sound, chance.randint(1, 5), signs, chance)
        yield table("flipped", str(number), "any", broken)
    synonym = f"{SYNONYMS_HEAD}\n"
    for name, expect, body in (
        ("of itself", "refused", "Dusk,Dusk,registered,own,plan,\n"),
        ("round", "refused", "A,B,registered,own,plan,\nB,A,registered,own,plan,\n"),
        ("clone round", "refused", "A,B,clone,own,plan,\nB,A,clone,own,plan,\n"),
        ("of two", "refused", f"{SYNONYM}\n{SYNONYM.replace('Dusk', 'Dawn')}\n"),
        ("no kind", "refused", "Evening,Dusk,nickname,own,plan,\n"),
        ("no variety", "refused", "Evening,,registered,own,plan,\n"),
    ):
        yield table("synonym", name, expect, synonym + body, path="synonyms.csv")  # type: ignore[arg-type]
    for name, body in (
        ("result", PAIR.replace("compatible", "perhaps")),
        ("share", PAIR.replace("30", "130")),
        ("negative", PAIR.replace("30", "-3")),
        ("text", PAIR.replace("30", "many")),
        ("no male", PAIR.replace("Schattenmorelle", "")),
        ("status", PAIR.replace("plan", "rumour")),
    ):
        yield table("pair", name, "refused", f"{PAIRS_HEAD}\n{body}\n", "2", path="pairs.csv")
    yield Case(
        "folder", "no such table", "told", LIST, {PLACE + "fact.csv": text.encode()}, "", "fact.csv"
    )
    yield Case(
        "folder",
        "no such fruit",
        "told",
        LIST,
        {"catalogues/kiwi/facts.csv": text.encode()},
        "",
        "kiwi",
    )
    yield Case("folder", "a file", "refused", LIST, {"catalogues": b"no folder"}, "catalogues")
    yield Case("folder", "a folder for a table", "any", LIST, {PLACE + "facts.csv/x": b""})


def pairs() -> Iterator[Case]:
    """A table of pairs to be judged."""
    words = ("cross", "--file", "FILLED", "--json")
    head = "species,female,male"
    sound = "sour cherry,Kelleris 16,Schattenmorelle"
    for name, expect, text in (
        ("empty", "refused", ""),
        ("head alone", "refused", head + "\n"),
        ("no column", "refused", f"species,female\n{sound}\n"),
        ("column twice", "refused", f"{head},male\n{sound},x\n"),
        ("short row", "refused", f"{head}\nsour cherry,Kelleris 16\n"),
        ("long row", "refused", f"{head}\n{sound},,\n"),
        ("no fruit", "told", f"{head}\nkiwi,A,B\n"),
        ("no variety", "any", f"{head}\nsour cherry,Nobody,Noone\n"),
        ("empty cells", "refused", f"{head}\n,,\n"),
        ("semicolons", "refused", f"{head}\n{sound}\n".replace(",", ";")),
        ("NUL", "refused", f"{head}\nsour cherry,\x00,Schattenmorelle\n"),
        ("long cell", "refused", f"{head}\nsour cherry,{'x' * 200_000},Schattenmorelle\n"),
        ("quote", "refused", f'{head}\nsour cherry,"Kelleris 16,Schattenmorelle\n'),
        ("bidi", "refused", f"{head}\nsour cherry,a\u202eb,Schattenmorelle\n"),
        ("UTF-16", "refused", f"{head}\n{sound}\n".encode("utf-16")),
        ("Latin-1", "refused", f"{head}\n{sound}ä\n".encode("latin-1")),
        ("bytes", "refused", bytes(range(256))),
        ("plan", "refused", b"[site]\nname = 1\n"),
    ):
        at = "filled.csv" if expect == "refused" else ""
        yield Case("pairs", name, expect, words, {"filled.csv": as_bytes(text)}, at)  # type: ignore[arg-type]


def described() -> Iterator[Case]:
    """`variety add` with values that no variety has; nothing is written."""

    def added(name: str, expect: Expect, *words: str, named: str = "", title: str = "Dusk") -> Case:
        line = ("variety", "add", title, "--species", FRUIT, "--folder", "FOLDER", *words)
        return Case("described", name, expect, line, named=named)

    options = {
        "--s-genotype": ("", "S", "QQ", "S1S2S3S4S5S6S7", "\x1b[31m", "=S1"),
        "--ploidy": ("", "0", "-2", "99", "2.5", "nan", "diploid"),
        "--self-fertile": ("", "maybe", "1", "\x07"),
        "--pollen-ok": ("", "maybe", "0"),
        "--chill-portions": ("", "-1", "nan", "inf", "1e9", "45h"),
        "--bloom": (
            "",
            "soon",
            "31 Apr - 5 May",
            "8 Apr",
            "18 Apr - 8 Apr",
            "1 Jan - 31 Dec",
            "4 days after Nobody",
            "1e9 days after Kelleris 16",
            "with",
            "2026-04-08",
        ),
        "--pick": ("", "soon", "32 Sep - 33 Sep", "20 Sep - 8 Sep"),
        "--parents": ("", "Gala", "A x B x C", "? x ?", "x"),
        "--keeping-weeks": ("", "-1", "nan", "1e9", "long"),
        "--hardiness-zone": ("", "0", "99", "nan", "6x"),
        "--sport-of": ("", "Nobody", "Dusk", "\x07"),
        "--set": ("", "vigour", "vigour=", "=low", "nonsense=1", "vigour=huge", "s_genotype=QQ"),
    }
    for option, texts in options.items():
        for text in texts:
            told = "" if "genotype=" in text else option
            yield added(f"{option} {text}", "refused", f"{option}={text}", named=told)
    for title in ("", " ", "#x", "\x1b[31m", "a\u202eb", "x" * 9999, "a\u200bb", "?", "unknown"):
        yield added(f"name {title}", "refused", "--ploidy=4", title=title)
    yield added("nothing", "refused")
    yield added("twice", "refused", "--ploidy=4", "--set=ploidy=2", named="ploidy")


def cases() -> list[Case]:
    """All odd tables."""
    return [one for make in (cells, tables, pairs, described) for one in make()]
