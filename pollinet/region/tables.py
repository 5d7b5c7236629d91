"""Tables and arrays of all places: CSV and Parquet through pandas, NetCDF and Zarr through xarray.

Tables are written chunk by chunk, so that their size does not hang on the memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from pollinet import __version__
from pollinet.answers.parts import month_day
from pollinet.days import day_of_year
from pollinet.domain import Plan, VarietyId
from pollinet.files import no_formula, writing_whole
from pollinet.region.work import (
    NONE,
    POINTS,
    SHARES,
    STAGES,
    STATUSES,
    STRENGTHS,
    VERDICTS,
    Answers,
    Question,
    least_chill,
)
from pollinet.summary.sites import STANDINGS

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

STATUSES_SAID = {"infeasible": "no set covers every limb", "time limit": "not finished in time"}
"""How the tables say what is proven of a set, where the word is one of programmers."""


@dataclass(frozen=True)
class Asked:
    """What the rows are about: limbs and varieties of the plan, and the climates."""

    question: Question

    @property
    def warmer_c(self) -> tuple[float, ...]:
        """Steps of warming. [°C]"""
        return self.question.warmer_c

    @property
    def plan(self) -> Plan:
        """The plan of the garden."""
        return self.question.garden.plan


Columns = Callable[[Asked, Answers], Mapping[str, Any]]


def _frame(asked: Asked, answers: Answers, columns_of: Columns, first: int) -> pd.DataFrame:
    """One of the tables of a chunk. first : number of its first place, from 1."""
    import pandas as pd

    columns = columns_of(asked, answers)
    places, climates = answers.standing.shape
    each = len(next(iter(columns.values()))) // (places * climates) or 1
    place = np.repeat(np.arange(places), climates * each)
    head = {
        "place": first + place,
        "name": answers.name[place],
        "latitude": answers.latitude[place],
        "longitude": answers.longitude[place],
        "warmer_c": np.tile(np.repeat(asked.warmer_c, each), places),
    }
    return pd.DataFrame({**head, **columns})


def _site_columns(asked: Asked, answers: Answers) -> dict[str, Any]:
    climates = len(asked.warmer_c)

    def each(values: Any) -> Any:
        return np.repeat(values, climates)

    whole = answers.covered != NONE
    known = each(answers.winters > 0)
    return {
        "standing": _words(answers.standing, STANDINGS),
        "limbs_covered": _counts((answers.covered == 1).sum(axis=2), known),
        "limbs_that_crop": _counts(whole.sum(axis=2), known),
        "winters_with_enough_chill": least_chill(answers).ravel(),
        "limb_least_chilled": _least_chilled(asked, answers),
        "best_set": answers.best.ravel(),
        "best_set_status": _words(
            answers.status, [STATUSES_SAID.get(word, word) for word in STATUSES]
        ),
        "limbs_no_set_covers": answers.uncovered.ravel(),
        # One that was not told is a guess: a metre is more than it knows.
        "elevation_m": each(
            np.where(answers.told, answers.elevation_m, answers.elevation_m.round())
        ),
        "elevation_told": each(answers.told),
        "weather": np.where(
            known, np.where(each(answers.generated), "made from stations", "record"), ""
        ),
        "winters": each(answers.winters),
        "nearest_station_km": each(answers.km.round(1)),
        "findings": each(answers.codes),
        "findings_in_words": each(answers.findings),
    }


def _least_chilled(asked: Asked, answers: Answers) -> Any:
    """The limb that has all its chill least often; empty where none is known."""
    ids = np.array([*(limb.id for limb in asked.plan.limbs), ""])
    least = least_chill(answers)
    first = (answers.chill == least[..., None]).argmax(axis=2) if len(ids) > 1 else 0
    return ids[np.where(np.isnan(least), -1, first)].ravel()


def _counts(numbers: Any, known: Any) -> Any:
    """Whole numbers; an empty cell where nothing is known."""
    import pandas as pd

    counts = pd.array(numbers.ravel(), dtype="Int64")
    counts[~known] = pd.NA
    return counts


def _limb_columns(asked: Asked, answers: Answers) -> dict[str, Any]:
    limbs = asked.plan.limbs
    times = answers.standing.size

    def tile(values: Sequence[Any]) -> Any:
        return np.tile(np.array(values), times)

    return {
        "limb": tile([limb.id for limb in limbs]),
        "tree": tile([limb.tree for limb in limbs]),
        "species": tile([limb.variety.species for limb in limbs]),
        "variety": tile([limb.variety.name for limb in limbs]),
        "crops": tile([limb.crops for limb in limbs]),
        "covered": _words(answers.covered, ("no", "yes")),
        "verdict": _words(answers.verdict, VERDICTS),
        "strength": _words(answers.strength, STRENGTHS),
        **{
            f"winters_{share}": answers.shares[..., column].ravel()
            for column, share in enumerate(SHARES)
        },
        "winters_with_enough_chill": answers.chill.ravel(),
        "chill_need": tile([_chill_need(asked, limb.variety) for limb in limbs]),
    }


def _chill_need(asked: Asked, variety: VarietyId) -> str:
    """Whether a variety's own chill requirement is told, or that usual for its fruit stands in."""
    return "of the variety" if asked.question.garden.known[variety].chill else "usual for the fruit"


def _bloom_columns(asked: Asked, answers: Answers) -> dict[str, Any]:
    varieties = asked.question.garden.varieties()
    times = answers.standing.size
    south = np.repeat(answers.latitude < 0, answers.standing.shape[1] * len(varieties))
    days = answers.bloom.reshape(-1, len(STAGES), len(POINTS))
    return {
        "species": np.tile(np.array([v.id.species for v in varieties]), times),
        "variety": np.tile(np.array([v.id.name for v in varieties]), times),
        "winters_with_bloom": answers.blooms.ravel(),
        **{
            stage if point == "likeliest" else f"{stage}_{point}": _dates(days[:, s, p], south)
            for s, stage in enumerate(STAGES)
            for p, point in ((1, "likeliest"), (0, "early"), (2, "late"))
        },
    }


def _dates(days: Any, south: Any) -> list[str]:
    """Days of the season as MM-DD; empty: never."""
    firsts = np.where(south, day_of_year(4, 1), day_of_year(10, 1)).tolist()
    return [
        "" if np.isnan(day) else month_day(first + int(day + 0.5))
        for day, first in zip(days.tolist(), firsts, strict=True)
    ]


def _words(places: Any, words: Sequence[str]) -> Any:
    """Words by their places in a list; empty for NONE."""
    return np.array([*words, ""])[places.ravel()]


TABLES: Mapping[str, Columns] = {
    "sites": _site_columns, "limbs": _limb_columns, "bloom": _bloom_columns
}  # fmt: skip
"""A row for each place, limb or variety, and climate."""


# --- files -----------------------------------------------------------------------------------


def write_tables(
    asked: Asked, parts: Callable[[], Iterator[Answers]], out: Path, *, parquet: bool
) -> list[Path]:
    """The three tables as CSV, and as Parquet where asked for; raises OSError.

    parts : gives the answers of one chunk after the other.
    """
    files = []
    for name, columns_of in TABLES.items():
        files.append(out / f"{name}.csv")
        _write_csv(files[-1], _frames(asked, parts(), columns_of))
        if parquet:
            files.append(out / f"{name}.parquet")
            _write_parquet(files[-1], _frames(asked, parts(), columns_of))
    return files


def _frames(asked: Asked, parts: Iterable[Answers], columns_of: Columns) -> Iterator[pd.DataFrame]:
    first = 1
    for answers in parts:
        yield _frame(asked, answers, columns_of, first)
        first += len(answers.name)


def _write_csv(file: Path, parts: Iterable[pd.DataFrame]) -> None:
    with writing_whole(file) as part, part.open("w", encoding="utf-8", newline="") as text:
        for number, frame in enumerate(parts):
            for column in frame.select_dtypes(exclude="number").columns:
                frame[column] = frame[column].map(no_formula)
            frame.to_csv(text, index=False, header=number == 0, lineterminator="\n")


def _write_parquet(file: Path, parts: Iterable[pd.DataFrame]) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    with writing_whole(file) as part:
        writer = None
        for frame in parts:
            table = pa.Table.from_pandas(frame, preserve_index=False)
            if writer is None:
                writer = pq.ParquetWriter(part, table.schema)
            writer.write_table(table.cast(writer.schema))
        if writer is not None:
            writer.close()


# --- arrays ----------------------------------------------------------------------------------


def dataset(asked: Asked, answers: Answers) -> xr.Dataset:
    """All answers as arrays with names, units and sources."""
    import xarray as xr

    limbs, varieties = asked.plan.limbs, asked.question.garden.varieties()
    by_place, by_climate = ("place",), ("place", "climate")
    by_limb = ("place", "climate", "limb")

    def flags(words: Sequence[str], text: str) -> dict[str, Any]:
        return {
            "long_name": text,
            "flag_values": np.array([NONE, *range(len(words))], dtype=np.int8),
            "flag_meanings": " ".join(["none", *(word.replace(" ", "_") for word in words)]),
        }

    def about(text: str, units: str = "1") -> dict[str, str]:
        return {"long_name": text, "units": units}

    variables: dict[str, Any] = {
        "elevation": (
            by_place, answers.elevation_m,
            {"standard_name": "surface_altitude", **about("height of the weather", "m")},
        ),
        "elevation_told": (
            by_place, answers.told.astype(np.int8), flags(("no", "yes"), "whether it was given")
        ),
        "winters": (by_place, answers.winters, about("winters that the answers rest on")),
        "winters_made_up": (
            by_place, answers.generated.astype(np.int8),
            flags(("no", "yes"), "whether the winters were made from the climate of stations"),
        ),
        "nearest_station": (by_place, answers.km, about("distance to the nearest station", "km")),
        "findings": (by_place, answers.codes.astype(object), {"long_name": "what was found"}),
        "standing": (
            by_climate, answers.standing,
            flags(STANDINGS, "whether every limb that is to crop has a donor in enough winters"),
        ),
        "best_set": (
            by_climate, answers.best.astype(object),
            {"long_name": "smallest set of varieties to graft, separated by semicolons"},
        ),
        "best_set_status": (
            by_climate, answers.status, flags(STATUSES, "what is proven of the smallest set")
        ),
        "covered": (by_limb, answers.covered, flags(("no", "yes"), "whether a limb has a donor")),
        "verdict": (by_limb, answers.verdict, flags(VERDICTS, "how sure its donor is")),
        "strength": (by_limb, answers.strength, flags(STRENGTHS, "strength of its donor")),
        "winters_with_donor": (
            (*by_limb, "share"), answers.shares, about("share of winters and draws with a donor")
        ),
        "winters_with_enough_chill": (
            by_limb, answers.chill, about("share of winters and draws in which a limb has all its "
                                          "chill")
        ),
        "bloom_day": (
            ("place", "climate", "variety", "stage", "point"), answers.bloom,
            about("day of the season, 0 its first (1 October, in the south 1 April), mean over the "
                  "winters with bloom", "day"),
        ),
        "winters_with_bloom": (
            ("place", "climate", "variety"), answers.blooms, about("share of winters with bloom")
        ),
    }  # fmt: skip
    coordinates: dict[str, Any] = {
        "place": (by_place, np.arange(1, len(answers.name) + 1), {"long_name": "its number"}),
        "name": (by_place, answers.name.astype(object), {"long_name": "name of a place"}),
        "latitude": (
            by_place, answers.latitude,
            {"standard_name": "latitude", "units": "degrees_north"},
        ),
        "longitude": (
            by_place, answers.longitude,
            {"standard_name": "longitude", "units": "degrees_east"},
        ),
        "warmer": (
            ("climate",), np.array(asked.warmer_c), about("how much warmer every hour is", "K")
        ),
        "limb": (("limb",), np.array([limb.id for limb in limbs], dtype=object)),
        "limb_variety": (("limb",), np.array([limb.variety.name for limb in limbs], dtype=object)),
        "variety": (("variety",), np.array([v.id.name for v in varieties], dtype=object)),
        "species": (("variety",), np.array([v.id.species for v in varieties], dtype=object)),
        "share": (("share",), np.array(SHARES, dtype=object)),
        "stage": (("stage",), np.array(STAGES, dtype=object)),
        "point": (("point",), np.array(POINTS, dtype=object)),
    }  # fmt: skip
    return xr.Dataset(variables, coordinates, _attributes(asked))


def _attributes(asked: Asked) -> dict[str, Any]:
    aim = asked.plan.aim
    sources = asked.question.garden.catalogue.sources
    used = sorted(
        {one.source for v in asked.question.garden.varieties() for one in (*v.bloom, *v.shed)}
        | {one.source for v in asked.question.garden.varieties() for one in v.chill}
    )
    return {
        "Conventions": "CF-1.11",
        "featureType": "point",
        "title": f"Pollination of the garden of {asked.plan.file} in many places",
        "source": f"pollinet {__version__}",
        "references": "; ".join(f"{name}: {sources.get(name, '')}" for name in used),
        "comment": "Winters without a record are made from the climate of weather stations.",
        "level": aim.level,
        "min_overlap_days": aim.min_overlap_days,
        "draws": aim.draws,
        "seed": aim.seed,
        "time_limit_s": asked.question.time_limit_s,
    }


def write_netcdf(data: xr.Dataset, file: Path) -> None:
    """The arrays as NetCDF 4, compressed; raises OSError."""
    packed = {
        name: {"zlib": True, "complevel": 4}
        for name, one in data.data_vars.items()
        if one.dtype.kind in "fiu"
    }
    with writing_whole(file) as part:
        data.to_netcdf(part, engine="netcdf4", format="NETCDF4", encoding=packed)


def write_zarr(data: xr.Dataset, folder: Path) -> None:
    """The arrays as Zarr, over those of before."""
    # Format 3 knows no gathered metadata, and zarr warns of them.
    data.to_zarr(folder, mode="w", consolidated=False)
