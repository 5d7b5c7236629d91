"""The garden as one file for the telephone: verdicts, bloom, limbs, and a form for notes.

The file needs nothing else, no network and no server. Its script keeps notes in the telephone and
gives them back as the text that `readers/note_text.py` reads.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from importlib.resources import files

from pollinet.answers.check import CheckedLimb, check_of
from pollinet.days import day_of_year
from pollinet.files import made_by
from pollinet.language import _, chosen, date_range, ngettext, short_date, told
from pollinet.page.commands import without_commands
from pollinet.page.form_notes import noting
from pollinet.page.policy import policy_digest
from pollinet.readers.note_text import head_line
from pollinet.strips import calendar_strip, style_sheet
from pollinet.study import Study
from pollinet.summary.limbs import limb_summaries, name_beside
from pollinet.summary.spring import garden_spring
from pollinet.wording.check import MARKS, VERDICTS, attention_first, why_words
from pollinet.wording.notes import day_words
from pollinet.wording.sentences import tenths

MARK = f'<meta name="generator" content="{made_by("take-along")}">'.encode()
"""By which a file of this purpose is known; see `files.refusal`."""


def take_along_html(study: Study, today: date) -> str:
    """The whole document, in the language spoken now. today : the day on which it is made."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("pollinet.page"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True,
    )  # fmt: skip
    environment.globals.update(
        _=_, ngettext=ngettext, told=told, tenths=tenths, short_date=_short_date,
        date_range=_date_range, day_words=day_words, MARKS=MARKS, VERDICTS=VERDICTS,
        name_beside=name_beside,
    )  # fmt: skip
    environment.filters["without_commands"] = without_commands
    style = style_sheet() + _static("page.css") + _static("take_along.css")
    script = _static("take_along.js")
    summaries = limb_summaries(study)
    limbs, check = attention_first(summaries), check_of(study, limbs=summaries)
    by_id = {limb.id: limb for limb in check.limbs}
    return environment.get_template("take_along.html.j2").render(
        **noting(study, today.isoformat()),
        today="",
        language=chosen(),
        made_on=day_words(today.isoformat()),
        head=head_line(study.plan.site.name),
        check=check,
        groups=_groups([by_id[limb.node.id] for limb in limbs]),
        why={limb.node.id: why_words(limb, study.network.nodes, 2) for limb in limbs},
        calendar=calendar_strip(garden_spring(study)),
        style=Markup(style),
        script=Markup(script),
        style_digest=policy_digest(style),
        script_digest=policy_digest(script),
    )


def _groups(rows: Sequence[CheckedLimb]) -> list[dict[str, object]]:
    """Limbs under their headings, what needs something first; what is well folds."""
    heads = {
        ("lacking",): _("Needs a donor"),
        ("open",): _("Open"),
        ("likely", "sure"): _("Has a donor"),
        (None,): _("There for their pollen"),
    }
    return [
        {
            "head": head,
            "rows": [row for row in rows if row.verdict in verdicts],
            "fold": verdicts not in (("lacking",), ("open",)),
        }
        for verdicts, head in heads.items()
    ]


def _static(name: str) -> str:
    return files("pollinet.page").joinpath("static", name).read_text(encoding="utf-8")


def _short_date(month_day: str) -> str:
    return short_date(_day(month_day))


def _date_range(first: str, last: str) -> str:
    return date_range(_day(first), _day(last))


def _day(month_day: str) -> int:
    month, day = month_day.split("-")
    return day_of_year(int(month), int(day))
