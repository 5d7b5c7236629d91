"""Odd logs, sheets, texts of notes, and notes typed on the line."""

from __future__ import annotations

import random
from collections.abc import Iterator

from odd_plans import HIDDEN
from oddities import SOUND, SOUND_LOG, Case, Expect, as_bytes, flipped

HEAD = "date,limb,kind,value,unit,note"
CHECK = ("check", "PLAN", "--json")
RECORD = ("record", "PLAN", "low")

NUMBERS = {
    "clusters": "180",
    "cluster-score": "3",
    "fruits": "214",
    "seeds": "4.5",
    "shoots": "45",
    "diameter": "31",
    "frost": "-1.5",
    "bees": "7",
    "sun": "6",
}
"""A sound value of each kind that is a number."""

SHARES = ("dead", "set", "first-set", "larvae", "open", "hand", "bagged")
WORDS = ("stage", "leafing", "pruned", "nitrogen", "disease")

NO_NUMBER = (
    "x",
    "nan",
    "inf",
    "-inf",
    "-1e9",
    "1e12",
    "",
    "12 fruits",
    "1,234.5",
    "0x10",
    "twelve",
    "1/2",
    "9" * 400,
    "9" * 5000,
    "1e400",
    "--5",
    "5%",
    "²",
    "=1+1",
    "1 2",
    "\x07",
    "5\x00",
    "\u202e5",
)
NO_SHARE = (
    "5/3",
    "-1/3",
    "1.5/3",
    "3",
    "3/0",
    "1e9/1e9",
    "a/b",
    "/",
    "3/",
    "/3",
    "1/2/3",
    "nan/nan",
    "inf/inf",
    "70%",
    "",
    "0.7",
    "3\\5",
    "3:5",
    "1e400/1e400",
)
NO_WORD = ("maybe", "3", "", "full bloom", "1", "full\x07", "fu\u200bll", "full,", "=full")
NO_VALUE = (
    dict.fromkeys(NUMBERS, NO_NUMBER)
    | dict.fromkeys(SHARES, NO_SHARE)
    | dict.fromkeys(WORDS, NO_WORD)
)
NO_DATE = (
    "",
    "12-04-2026",
    "2025-13-01",
    "2025-02-29",
    "2025-04-31",
    "0000-01-01",
    "2025-00-10",
    "9999-12-31",
    "1799-04-12",
    "2199-04-12",
    "2025/04/12",
    "12.04.2025",
    "04/12/2025",
    "Apr 12 2025",
    "2025-4-1",
    "20250412",
    "today",
    "45759",
    "2025-04-12T10:00",
    "-2025",
    "2025-04-12\x00",
    "2025-04-1\u0661",
    "2025",
    "25-04-12",
    "2025-04",
    "nan",
)
NO_LIMB = (
    "nobody",
    "ALL",
    "Low",
    "LOW",
    "",
    "../low",
    "-",
    "=low",
    "--json",
    "low;top",
    "Van",
    "low\x00",
    "lo\u200bw",
    "cherry",
    "low\u202e",
    "x" * 9999,
)


def log_case(kind: str, name: str, expect: Expect, log: str | bytes, named: str = "") -> Case:
    """A case of a log beside the plan."""
    at = "records.csv" if expect in ("refused", "told") else ""
    return Case(kind, name, expect, CHECK, {"records.csv": as_bytes(log)}, at, named)


def with_row(*cells: str) -> str:
    """The sound log with one more row."""
    quoted = (f'"{cell}"' if set(cell) & set(',"\n\r') else cell for cell in cells)
    return SOUND_LOG + ",".join(quoted) + "\n"


def cells() -> Iterator[Case]:
    """A row with one cell that cannot be."""
    line = str(SOUND_LOG.count("\n") + 1)
    for number, text in enumerate(NO_DATE):
        row = with_row(text, "low", "stage", "full", "", "")
        expect: Expect = "told" if text[:4] in ("2199",) else "refused"
        yield log_case("date", f"{number} {text}", expect, row, line if expect == "refused" else "")
    for number, text in enumerate(NO_LIMB):
        row = with_row("2025-04-12", text, "stage", "full", "", "")
        yield log_case("limb", f"{number} {text}", "refused", row, line)
    for kind, sound in NUMBERS.items():
        for unit in ("furlongs", "°X", "kg", "\x07", "5", "x" * 999):
            row = with_row("2025-04-12", "low", kind, sound, unit, "")
            yield log_case("unit", f"{kind} {unit}", "refused", row, line)
    for kind, texts in NO_VALUE.items():
        for number, text in enumerate(texts):
            row = with_row("2025-04-12", "low", kind, text, "", "")
            yield log_case("value", f"{kind} {number} {text}", "refused", row, line)
    for number, text in enumerate(("", "Stage", "stages", "bloom", "\x07", "full", "=1", "all")):
        row = with_row("2025-04-12", "low", text, "full", "", "")
        yield log_case("kind", f"{number} {text}", "refused", row, line)
    for name, sign in HIDDEN.items():
        if name in ("newline", "return"):
            continue
        row = with_row("2025-07-12", "low", "fruits", "20", "", f"a{sign}b")
        yield Case("note", name, "any", ("record", "PLAN"), {"records.csv": row.encode()})


def doubts() -> Iterator[Case]:
    """Rows that each are sound, and together or here cannot be meant."""
    stage = lambda day, word: with_row(day, "low", "stage", word, "", "")  # noqa: E731
    yield log_case("doubt", "November", "told", stage("2025-11-12", "full"), "2025-11-12")
    yield log_case("doubt", "August", "told", stage("2025-08-12", "start"), "2025-08-12")
    yield log_case("doubt", "before the graft", "told", stage("2005-04-12", "full"), "2005")
    yield log_case("doubt", "year to come", "told", stage("2199-04-12", "full"), "2199")
    yield log_case("doubt", "end before full", "told", stage("2024-04-10", "end"), "end of bloom")
    yield log_case("doubt", "start after end", "told", stage("2024-04-30", "start"), "start")
    yield log_case(
        "doubt", "years apart", "told", with_row("2050", "low", "fruits", "20", "", ""), "2050"
    )
    back = with_row("2025-04-12", "low", "stage", "-", "", "")
    yield log_case("doubt", "taken back, never noted", "told", back, "2025-04-12")
    yield log_case(
        "doubt",
        "taken back twice",
        "told",
        with_row("2024-07-12", "low", "fruits", "-", "", "") + "2024-07-12,low,fruits,-,,\n",
        "2024-07-12",
    )
    yield log_case(
        "doubt",
        "warm frost",
        "refused",
        with_row("2025-04-12", "all", "frost", "29", "", ""),
        "29",
    )


def files() -> Iterator[Case]:
    """Headers, encodings and damage."""
    plain = SOUND_LOG
    line = plain.splitlines()[1]
    for number, head in enumerate(
        (
            "limb,kind,value,unit,note",
            "date,kind,value,unit,note",
            "date,limb,value,unit,note",
            "date,limb,kind,unit,note",
            "date,date,limb,kind,value",
            "date,limb,kind,kind,value",
            "date,limb,limb,kind,value,note",
            "date,limb,kind,value,unit,note,note",
            "date,limb,kind,value,value,unit",
            "date;limb;kind;value;unit;note",
            "date\tlimb\tkind\tvalue\tunit\tnote",
            "Datum,Ast,Art,Wert,Einheit,Notiz",
            "a,b,c,d,e,f",
            "1,2,3,4,5,6",
            "date limb kind value",
            '"date,limb,kind,value,unit,note"',
            ",,,,,",
            "date,limb,kind,value,unit,note,",
            "x" * 200_000,
        )
    ):
        expect: Expect = "any" if head.endswith("note,") else "refused"
        body = plain.replace(HEAD, head, 1)
        yield log_case("header", f"{number} {head[:40]}", expect, body)
    yield log_case("header", "none", "refused", plain.replace(f"{HEAD}\n", ""))
    yield log_case("header", "in the middle", "refused", plain + HEAD + "\n", "8")
    yield log_case(
        "header", "surplus", "told", plain.replace("note\n", "note,wheather\n", 1), "wheather"
    )
    yield log_case(
        "header", "other order", "any", "limb,date,kind,value\nlow,2025-04-12,stage,full\n"
    )
    yield log_case("row", "too long", "refused", plain + line + ",,,\n", "8")
    yield log_case("row", "too short", "refused", plain + "2025-04-12,low,stage\n", "8")
    yield log_case("row", "one cell", "refused", plain + "2025-04-12\n", "8")
    yield log_case("row", "other sign", "refused", plain + line.replace(",", ";") + "\n", "8")
    yield log_case("row", "quote not closed", "refused", plain + '2025-04-12,low,stage,"full\n')
    yield log_case("row", "quote within", "refused", plain + '2025-04-12,low,stage,fu"ll,,\n', "8")
    yield log_case(
        "row", "cells exchanged", "refused", plain + "low,2025-04-12,stage,full,,\n", "8"
    )
    yield log_case("row", "kind and value", "refused", plain + "2025-04-12,low,full,stage,,\n", "8")
    yield log_case("row", "long cell", "any", plain + f"2025-04-12,low,fruits,1,,{'x' * 200_000}\n")
    yield log_case("row", "many", "any", plain + f"{line}\n" * 20_000)
    yield log_case(
        "row", "many wrong", "refused", plain + "2025-04-12,nobody,stage,full,,\n" * 5000
    )
    same = {
        "BOM": b"\xef\xbb\xbf" + plain.encode(),
        "CRLF": plain.replace("\n", "\r\n").encode(),
        "CR": plain.replace("\n", "\r").encode(),
        "blank lines": plain.replace("\n", "\n\n").encode(),
        "remarks": ("# mine\n" + plain + "# end\n").encode(),
        "capitals": plain.replace(HEAD, HEAD.title()).encode(),
        "no end": plain.rstrip().encode(),
        "quoted": "".join(
            ",".join(f'"{cell}"' for cell in row.split(",")) + "\n" for row in plain.splitlines()
        ).encode(),
    }
    for name, content in same.items():
        yield Case("encoding", name, "same", ("check", "PLAN"), {"records.csv": content})
    umlaut = plain.replace("south side", "Südseite")
    wrong = {
        "UTF-16": umlaut.encode("utf-16"),
        "UTF-16 big": b"\xfe\xff" + umlaut.encode("utf-16-be"),
        "UTF-32": umlaut.encode("utf-32"),
        "Latin-1": umlaut.encode("latin-1"),
        "NULs": b"\0" * 5000,
        "bytes": bytes(range(256)) * 9,
        "spreadsheet": b"PK\x03\x04\x14\x00\x06\x00" + bytes(range(128, 256)),
        "gzip": b"\x1f\x8b\x08\x00" + plain.encode(),
        "JSON": b'[{"date": "2025-04-12"}]',
        "HTML": b"<html><table><tr><td>date</td></tr></table></html>",
        "plan": SOUND["plan.toml"],
    }
    for name, content in wrong.items():
        yield log_case("encoding", name, "refused", content)
    for name, content in {"empty": b"", "blank": b"\n\n", "remark": b"# nothing\n"}.items():
        yield log_case("encoding", name, "any", content)
    for tenth in range(1, 20):
        yield log_case("cut", f"{tenth} of 20", "any", plain[: len(plain) * tenth // 20])
    chance = random.Random(11)
    for number in range(30):
        signs = b' ",;\n\r\\0aA\xff\t#-'
        broken = flipped(plain.encode(), chance.randint(1, 6), signs, chance)
        yield log_case("flipped", str(number), "any", broken)


def sheets() -> Iterator[Case]:
    """A filled sheet, or the notes of a telephone, given to `record --from`."""
    words = ("record", "PLAN", "--from", "FILLED", "--json")

    def sheet(name: str, expect: Expect, text: str | bytes, named: str = "") -> Case:
        return Case(
            "sheet",
            name,
            expect,
            words,
            {"filled.csv": as_bytes(text)},
            "filled.csv" if expect == "refused" else "",
            named,
            # The good notes of a text are written, whatever is wrong with others.
            ("plan.toml",) if expect == "any" else ("plan.toml", "records.csv"),
        )

    row = "2025-04-12,low,stage,full,,\n"
    yield sheet("empty", "refused", b"")
    yield sheet("only a head", "refused", HEAD + "\n")
    yield sheet("a wrong row", "refused", f"{HEAD}\n{row}2025-04-13,nobody,stage,full,,\n", "3")
    yield sheet("no date", "any", f"{HEAD}\n{row},low,fruits,214,,\n")
    yield sheet("value without a date", "told", f"{HEAD}\n{row},low,fruits,214,,\n", "3")
    yield sheet("date without a value", "told", f"{HEAD}\n{row}2025-07-12,low,fruits,,,\n", "3")
    yield sheet("column twice", "refused", f"{HEAD},date\n{row}", "date")
    yield sheet("year to come", "refused", f"{HEAD}\n2199-04-12,low,stage,full,,\n", "2199")
    yield sheet("never noted", "refused", f"{HEAD}\n2025-04-12,low,fruits,-,,\n", "2025-04-12")
    yield sheet("UTF-16", "refused", f"{HEAD}\n{row}".encode("utf-16"))
    yield sheet("Latin-1", "refused", f"{HEAD}\n{row[:-1]}Süd\n".encode("latin-1"))
    yield sheet("bytes", "refused", bytes(range(256)))
    yield sheet("spreadsheet", "refused", b"PK\x03\x04\x14\x00" + bytes(range(128, 256)))
    yield sheet("other signs", "refused", f"{HEAD}\n{row}".replace(",", ";"))
    head = "Pollinet notes 1: a slope\n"
    note = "2025-04-12 | low | stage | full\n"
    for name, expect, text in (
        ("notes without end", "any", head),
        ("notes of another garden", "refused", f"Pollinet notes 1: a valley\n{note}"),
        ("notes to come", "refused", f"Pollinet notes 2: a slope\n{note}"),
        (
            "version of thousands of digits",
            "refused",
            f"Pollinet notes {'9' * 5000}: a slope\n{note}",
        ),
        ("version 0", "refused", f"Pollinet notes 0: a slope\n{note}"),
        ("no limb", "refused", f"{head}2025-04-12 | nobody | stage | full\n"),
        ("year to come", "refused", f"{head}2199-04-12 | low | stage | full\n"),
        ("no day", "refused", f"{head}today | low | stage | full\n"),
        ("no note", "refused", f"{head}low was in full bloom today\n"),
        ("few parts", "refused", f"{head}2025-04-12 | low\n"),
        ("hidden", "any", f"{head}2025-04-12 | low | fruits | 5 | \x1b[31m\x00\u202e\n"),
        ("hidden id", "refused", f"{head}\x1b]0;x | 2025-04-12 | low | fruits | 5\n"),
        ("one id twice", "any", f"{head}a1 | {note}a1 | 2025-04-13 | low | stage | full\n"),
        ("id with a blank", "refused", f"{head}a 1 | {note}"),
        ("long id", "refused", f"{head}{'x' * 9999} | {note}"),
        ("CRLF", "any", (head + note).replace("\n", "\r\n")),
        ("quoted", "any", "> " + head + "> " + note),
        ("many", "any", head + note * 5000),
        ("giant line", "refused", head + "x" * 1_000_000),
    ):
        yield sheet(name, expect, text)  # type: ignore[arg-type]


def typed() -> Iterator[Case]:
    """Notes typed on the line; nothing is written where they cannot be meant."""

    def line(name: str, expect: Expect, *words: str, named: str = "") -> Case:
        return Case("typed", name, expect, (*RECORD, *words), named=named)

    for text in NO_DATE:
        if text != "2025":
            yield line(
                f"date {text}", "refused", "--stage", "full", f"--date={text}", named="--date"
            )
    for text in (
        "",
        "0",
        "-5",
        "1799",
        "2201",
        "9999",
        "2199",
        "99",
        "20250412",
        "x",
        "2025-04",
        "２０２５x",
        "nan",
    ):
        yield line(f"year {text}", "refused", "--fruits", "20", f"--year={text}", named="--year")
    for kind, texts in NO_VALUE.items():
        for text in texts:
            if "\x00" not in text:
                words = (f"--{kind}={text}", "--date=2025-04-12")
                yield line(f"{kind} {text}", "refused", *words, named=f"--{kind}")
    for text in NO_LIMB:
        if text.startswith("-") or "\x00" in text:
            continue
        words = ("record", "PLAN", text, "--fruits=5", "--date=2025-04-12")
        yield Case("typed", f"limb {text}", "refused", words, named="LIMB")
    yield line("both dates", "refused", "--fruits=5", "--date=2025-04-12", "--year=2025")
    yield line("nothing", "refused", "--date=2025-04-12")
    yield line("note alone", "refused", "--note=hello")
    yield line("November", "told", "--stage=full", "--date=2025-11-12", named="2025-11-12")
    yield line("before the graft", "told", "--stage=full", "--date=2005-04-12", named="2005")
    yield line("end before full", "told", "--stage=end", "--date=2024-04-10", named="end of bloom")
    for kind, day in (
        ("stage", "2025-04-12"),
        ("fruits", "2023-07-12"),
        ("frost", "2024-04-12"),
        ("leafing", "2024-04-12"),
    ):
        yield line(
            f"taken back, never noted: {kind}",
            "refused",
            "--take-back",
            kind,
            f"--date={day}",
            named=day,
        )
    for kind in ("", "nonsense", "-", "STAGE", "--json", "\x1b[31m"):
        yield line(
            f"take back {kind}",
            "refused",
            f"--take-back={kind}",
            "--date=2024-04-12",
            named="--take-back",
        )
    for unit in ("furlongs", "\x1b[31m", "°X", " "):
        yield line(f"unit {unit}", "refused", "--shoots=45", f"--unit={unit}", "--date=2025-07-12")
    for name, sign in HIDDEN.items():
        if name not in ("NUL", "newline", "return"):
            yield line(
                f"note {name}",
                "refused",
                "--fruits=5",
                "--date=2025-07-12",
                f"--note=a{sign}b",
                named="--note",
            )


def cases() -> list[Case]:
    """All odd logs and notes."""
    return [one for make in (cells, doubts, files, sheets, typed) for one in make()]
