"""A variety of one's own, described and written into the grower's own tables."""

from __future__ import annotations

from pathlib import Path

from pollinet.domain import Catalogue, VarietyId
from pollinet.findings import Finding, has_errors
from pollinet.letters import odd_line, shortened
from pollinet.messages import joined, say
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.names import LIKE_A_SLIP, NO_NAMES, fold, suggest
from pollinet.readers.own_tables import add_rows
from pollinet.readers.own_varieties import OwnVariety, rows_for
from pollinet.readers.shared_tables import read_shared


def add_variety(own: OwnVariety, home: Path) -> tuple[Catalogue | None, tuple[Finding, ...]]:
    """Write what a grower knows of a variety; `home`: the folder of own tables, held meanwhile.

    Returns
    -------
    The catalogue with it and what is notable; or None with all that is wrong, and nothing written.
    """
    existing = home if home.is_dir() else None
    catalogue, broken = load_catalogue([own.fruit.name], existing)
    if has_errors(broken):
        return None, broken
    shared = read_shared(existing, [])
    rows, findings = rows_for(own, catalogue, shared)
    findings = (*name_findings(own, catalogue), *findings)
    # The rows are tried even where something is wrong already, so that all mistakes show at once.
    changed, more = add_rows(home, own.fruit.name, rows, dry=has_errors(findings))
    findings += more
    return (None if has_errors(findings) else changed), findings


def name_findings(own: OwnVariety, catalogue: Catalogue) -> tuple[Finding, ...]:
    """What the catalogue has under this name or nearly this name."""
    fruit = own.fruit.name
    typed = VarietyId(fruit, own.name)
    if not own.name or own.name.startswith("#"):
        message = say("A name has letters, and does not begin with #, which begins a remark.")
        cure = say("Give another name.")
        return (Finding("error", "wrong-name", message, place="NAME", cure=cure),)
    if odd := odd_line(own.name):
        message = say("'{value}' cannot be meant.", value=shortened(own.name))
        cure = say("Write {allowed}.", allowed=odd)
        return (Finding("error", "wrong-name", message, place="NAME", cure=cure),)
    if fold(own.name) in NO_NAMES:
        message = say("'{value}' stands for any variety.", value=own.name)
        cure = say("Give another name.")
        return (Finding("error", "wrong-name", message, place="NAME", cure=cure),)
    if typed in catalogue.varieties:
        message = say(
            "{name} is in the catalogue; your values go before those of the same kind.",
            name=own.name,
        )
        return (Finding("note", "own-value", message),)
    if typed in catalogue.synonyms:
        proper = catalogue.synonyms[typed].name
        message = say(
            "{name} is a synonym; the catalogue has it as {proper}.", name=own.name, proper=proper
        )
        cure = say("Add your values to {name}.", name=proper)
        return (Finding("error", "synonym", message, place="NAME", cure=cure),)
    names = {fold(v.name): v.name for v in (*catalogue.varieties, *catalogue.synonyms)}
    if (alike := names.get(fold(own.name))) is not None:
        message = say("The catalogue writes this name as {name}.", name=alike)
        return (Finding("error", "same-name", message, place="NAME", cure=say("Write it so.")),)
    near = suggest(own.name, names.values(), 2, least=LIKE_A_SLIP)
    if not near:
        return ()
    message = say("The catalogue has {names}.", names=joined(near))
    cure = say("Where you mean one of these, write its name so; otherwise all is well.")
    return (Finding("note", "near-name", message, place="NAME", cure=cure),)
