"""Where the garden lies and what weather its answers rest on, in a plan that there is."""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response

from pollinet import editing
from pollinet.editing import Change
from pollinet.errors import WrongChange
from pollinet.files import cannot_write, file_stem, refusal, write_new
from pollinet.findings import Finding, has_errors
from pollinet.language import _
from pollinet.messages import say
from pollinet.page.desk import digest_of
from pollinet.page.entries import Place, climate_at, place_of
from pollinet.page.fields import place_context, place_helped, texts_of
from pollinet.page.links import desk
from pollinet.page.screens.plan_file import changed_meanwhile, rewritten, text_of_plan
from pollinet.study import open_study
from pollinet.study.station_winters import NAMED

screen = Blueprint("place", __name__)

Page = str | Response | tuple[str, int]

SUFFIXES = frozenset({".csv", ".txt", ".dat", ".json", ".epw", ".tsv", ".dly"})
"""Endings that a record keeps; with another it is called a text."""


@screen.get("/place")
def show() -> str:
    """The place, and the weather."""
    return _page(texts_of(_site()))


@screen.post("/place")
def moved() -> Page:
    """Another place, if it can be."""
    values = dict(request.form)
    if answered := place_helped(values):
        return _page(values, **answered)
    found = place_of(values, needed=False)
    if has_errors(found.findings):
        return _page(values, found.findings), 422
    whole = {
        key: int(value) if isinstance(value, float) and value.is_integer() else value
        for key, value in found.values.items()
    }
    try:
        return _written(editing.change_site(whole))
    except WrongChange as wrong:
        return _page(values, wrong.findings), 422


@screen.get("/place/weather")
@screen.get("/place/stations")
def back() -> Page:
    """Who comes back to the address of a form is shown the screen."""
    return redirect(url_for("place.show"))


@screen.post("/place/weather")
def weather() -> Page:
    """A record of daily temperatures: beside the plan where it can be read, else told and gone."""
    sent = request.files.get("record")
    if sent is None or not sent.filename:
        finding = Finding("error", "missing-file", say("choose a file first"))
        return _page(texts_of(_site()), (finding,)), 422
    content, findings = _record_of(sent)
    if content is None:
        return _page(texts_of(_site()), findings), 422
    if digest_of(desk().plan) != request.form.get("digest"):
        return changed_meanwhile(url_for("place.show"))
    try:
        file, is_new = _kept(content, sent.filename)
    except OSError as fault:
        return _page(texts_of(_site()), (cannot_write(fault),)), 422
    try:
        answer = _written(editing.change_site({"weather": file.name}))
    except WrongChange as wrong:
        answer = _page(texts_of(_site()), wrong.findings), 422
    if isinstance(answer, tuple) and is_new:
        # The plan does not name it: nothing is kept.
        file.unlink(missing_ok=True)
    return answer


@screen.post("/place/stations")
def stations() -> Page:
    """No record: the winters are made from the stations near the place."""
    try:
        return _written(editing.change_site({"weather": None}))
    except WrongChange as wrong:
        return _page(texts_of(_site()), wrong.findings), 422


def _record_of(sent: FileStorage) -> tuple[bytes | None, tuple[Finding, ...]]:
    """A record that was sent; None with what is wrong where the plan could not rest on it."""
    with tempfile.TemporaryDirectory() as folder:
        # Under its own name, which the findings tell; nothing of a path is in it.
        file = Path(folder) / (Path(sent.filename or "").name or "record.csv")
        try:
            sent.save(file)
        except (OSError, ValueError):
            file = Path(folder) / "record.csv"
            sent.stream.seek(0)
            sent.save(file)
        content = file.read_bytes()
        opened = open_study(desk().plan, weather=file)
    return (None if opened.study is None else content), opened.findings


def _kept(content: bytes, name: str) -> tuple[Path, bool]:
    """The file beside the plan that has this content, and whether it is a new one."""
    given = Path(name.replace("\\", "/")).name
    suffix = Path(given).suffix.lower()
    suffix = suffix if suffix in SUFFIXES else ".txt"
    stem, folder = file_stem(Path(given).stem), desk().plan.parent
    if refusal(folder / f"{stem}{suffix}", None):
        stem = f"weather-{stem}"
    number = 1
    while True:
        file = folder / (f"{stem}{suffix}" if number == 1 else f"{stem}-{number}{suffix}")
        try:
            write_new(file, content)
        except FileExistsError:
            if file.is_file() and not file.is_symlink() and file.read_bytes() == content:
                return file, False
            number += 1
        else:
            return file, True


def _page(values: Mapping[str, str], findings: tuple[Finding, ...] = (), **more: Any) -> str:
    site = _site()
    climate = climate_at(
        Place(None, site.get("latitude"), site.get("longitude"), site.get("elevation_m"))
    )
    return render_template(
        "place.html.j2",
        **place_context(values),
        **more,
        findings=findings,
        weather=site.get("weather"),
        normals="normals" in site,
        stations=climate.nearest[:NAMED] if climate else (),
        digest=request.form.get("digest") or digest_of(desk().plan),
    )


def _site() -> dict[str, Any]:
    site: dict[str, Any] = tomllib.loads(text_of_plan(desk().plan)).get("site", {})
    return site


def _written(change: Change) -> Page:
    table, digest = desk(), request.form.get("digest")
    file = table.plan.name
    if not rewritten(table, digest, lambda text: editing.changed_text(text, change, file)):
        return changed_meanwhile(url_for("place.show"))
    flash(_("Written into the plan."), "written")
    return redirect(url_for("place.show"))
