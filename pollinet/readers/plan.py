"""A plan file → the domain's `Plan`, with every problem in it as a finding.

Three steps: text to tables (`plan_table`), names to varieties and fruits (`plan_names`), and what
no single key can be wrong in (`plan_checks`). Mistakes in one place do not hide mistakes in
another: what cannot be used is left out and the rest is checked all the same.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from pollinet.domain import Catalogue, Plan
from pollinet.files import read_whole
from pollinet.findings import Finding, has_errors, in_order
from pollinet.messages import say
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.files import reason_of
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.toml_words import number_meant, toml_fault, too_many_dots

if TYPE_CHECKING:
    from pollinet.readers.plan_table import PlanTable


def read_plan(
    path: Path, text: str | None = None
) -> tuple[Plan | None, Catalogue | None, tuple[Finding, ...]]:
    """Read a plan with its names resolved, and the catalogues it needs.

    text : what the file would hold, to be checked in place of what it holds.

    Returns
    -------
    plan : None where an error stands in the way.
    catalogue : of the plan's fruits, with the own tables beside the plan; None where the file
        cannot be read at all.
    findings : all problems, in order.
    """
    from pollinet.readers.plan_names import fruits_of, resolve_plan

    table, findings = read_plan_table(path, text)
    if table is None:
        return None, None, findings
    named, problems = fruits_of(table, fruits(), path.name)
    catalogue, catalogue_findings = load_catalogue(named, own_folder_beside(path.parent))
    plan, name_findings = resolve_plan(table, catalogue, fruits(), path.name)
    findings = in_order(findings + problems + catalogue_findings + name_findings)
    return (None if has_errors(findings) else plan), catalogue, findings


def read_plan_table(
    path: Path, text: str | None = None
) -> tuple[PlanTable | None, tuple[Finding, ...]]:
    """Read a plan file and check all that can be checked without a catalogue.

    text : what the file would hold, to be checked in place of what it holds.

    Returns
    -------
    table : what could be read, even where there are errors; None if nothing could.
    findings : all problems; where one is an error, the table must not be computed with.
    """
    # The model of the tables takes a library that other commands do without.
    from pollinet.readers.plan_checks import plan_problems
    from pollinet.readers.plan_table import checked

    if text is None:
        text, unreadable = _text_of(path)
        if text is None:
            return None, unreadable
    if line := too_many_dots(text):
        return None, (replace(_nested(path.name), line=line),)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        usual = say("text stands in double quotes, tables in [brackets], dates as 04-10 in quotes")
        cure = number_meant(text, problem) or usual
        return None, (Finding("error", "broken-toml", toml_fault(problem), path.name, cure=cure),)
    except ValueError:
        return None, (_no_plan(say("a number has thousands of digits"), path.name),)
    except RecursionError:
        return None, (_nested(path.name),)
    try:
        table, findings = checked(data, path.name)
    except RecursionError:
        return None, (_nested(path.name),)
    return table, findings if table is None else findings + plan_problems(table, path.name)


def _nested(file: str) -> Finding:
    return _no_plan(say("brackets or names are nested too deeply"), file)


def _no_plan(message: str, file: str) -> Finding:
    cure = say("remove it; a plan has no such thing")
    return Finding("error", "broken-toml", message, file, cure=cure)


def _text_of(path: Path) -> tuple[str | None, tuple[Finding, ...]]:
    cure = say("give the path of a plan file; `pollinet demo` writes one to start from")
    try:
        text = read_whole(path).decode("utf-8-sig")
        return text.replace("\r\n", "\n").replace("\r", "\n"), ()
    except IsADirectoryError:
        message: str = say("this is a folder, not a plan file")
    except (OSError, UnicodeDecodeError) as problem:
        message = reason_of(problem)
    return None, (Finding("error", "missing-file", message, file=str(path), cure=cure),)
