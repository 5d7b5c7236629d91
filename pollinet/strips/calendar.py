"""The bloom calendar as a strip: one row a variety on a tree, in the order of bloom."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from markupsafe import Markup

from pollinet.language import _
from pollinet.strips.drawing import (
    BAR_PX,
    LINE_PX,
    NEED,
    NOTHING,
    ROW_PX,
    Axis,
    bar,
    bloom_bar,
    dotted,
    grid,
    heading,
    joined,
    named,
    row,
    scale,
    strip,
    swatch,
    unknown_bloom,
    upright,
)
from pollinet.strips.limb import Beside, LimbSpring
from pollinet.summary.limbs import BloomSpan, CalendarRow, SpringShift
from pollinet.summary.spring import (
    Against,
    DayShares,
    Spring,
    against_limb,
    own_ends,
    season_day,
    shared_span,
    shown_shares,
)
from pollinet.wording.calendar import bloom_key, day_shares_label, row_words, shift_label
from pollinet.wording.sentences import days


def calendar_strip(
    spring: Spring,
    *,
    chosen: str | None = None,
    before: Spring | None = None,
    looked: LimbSpring | None = None,
    legend: bool = True,
) -> Markup:
    """The bloom of a garden over the dates of its season.

    Parameters
    ----------
    spring : as from `garden_spring`.
    chosen : id of a limb; the days that the others share with it are filled and counted.
    before : the spring of the garden before a try-out: where a limb blooms otherwise now, its old
        bar is an outline; rows stand in the old order, on an axis that holds both.
    looked : what each of the others is to the chosen limb, as from `limb_spring`; days shared with
        what is no donor are not filled, and why it is none is told.
    legend : whether the key is shown.
    """
    rows = spring.rows if before is None else in_old_order(spring.rows, before.rows)
    spring = replace(spring, rows=rows) if before is None else _reordered(spring, rows)
    windows = [one.window for one in (spring, before) if one is not None]
    window = min(first for first, _last in windows), max(last for _first, last in windows)
    axis = Axis(*window, spring.start)
    against = None if chosen is None else against_limb(rows, chosen)
    old = [None if before is None else _moved(row, before.rows) for row in rows]
    key = list(_key(spring, against, old)) if legend else []
    marks = legend and any(one.verdict for one in rows)
    beside = {} if looked is None else {i: one for one in looked.beside for i in one.ids}
    return strip("calendar", _rows(spring, axis, window, against, old, beside), key, marks=marks)


def in_old_order(
    rows: Sequence[CalendarRow], before: Sequence[CalendarRow]
) -> tuple[CalendarRow, ...]:
    """Rows in the order that their limbs had before, so that the eye sees one bar move.

    What is new stands at the end of its tree.
    """
    places: dict[tuple[str, bool], int] = {}
    for place, old in enumerate(before):
        for limb in old.ids:
            places.setdefault((limb, old.sheds), place)
    groups = list(dict.fromkeys([*(old.group for old in before), *(one.group for one in rows)]))

    def rank(one: CalendarRow) -> tuple[int, int]:
        found = [places[limb, one.sheds] for limb in one.ids if (limb, one.sheds) in places]
        return groups.index(one.group), min(found, default=len(before))

    return tuple(sorted(rows, key=rank))


def _reordered(spring: Spring, rows: tuple[CalendarRow, ...]) -> Spring:
    marks = tuple(replace(m, row=rows.index(spring.rows[m.row])) for m in spring.marks)
    return replace(spring, rows=rows, marks=marks)


def _moved(now: CalendarRow, before: Sequence[CalendarRow]) -> BloomSpan | None:
    """How a row bloomed before; None: as now, or there was no such limb."""
    for old in before:
        if old.sheds == now.sheds and set(old.ids) & set(now.ids):
            return None if (old.variety, old.span) == (now.variety, now.span) else old.span
    return None


# --- rows ----------------------------------------------------------------------------------------


def _rows(
    spring: Spring, axis: Axis, window: tuple[int, int], against: Against | None,
    old: Sequence[BloomSpan | None], beside: Mapping[str, Beside],
) -> Iterator[Markup]:  # fmt: skip
    lines = grid(axis)
    yield scale(axis)
    for shift in spring.shifts:
        yield row(
            named(shift_label(shift)), shift_label(shift), _shift(axis, shift), lines, kind="all"
        )
    group = None
    for place, (one, moved) in enumerate(zip(spring.rows, old, strict=True)):
        if one.group != group:
            yield heading(one.group)
            group = one.group
        notes = [season_day(mark, spring.start) for mark in spring.marks if mark.row == place]
        is_to = next((beside[limb] for limb in one.ids if limb in beside), None)
        drawn = _bloom(axis, spring.rows, place, against, moved, notes, is_to)
        words = row_words(one, spring.start)
        label = named(one.label, one.verdict)
        kind = "need" if one.verdict in NEED else ""
        if against is not None and place == against.row:
            kind += " chosen"
        yield row(label, words, drawn, lines, _told(spring.rows, place, against, is_to), kind)
    for found in spring.days:
        yield _days_row(found, window)


def _shift(axis: Axis, shift: SpringShift) -> Markup:
    ends = (shift.full - shift.days, shift.full, shift.full + shift.days)
    level = dotted(axis, ends[0], ends[2], "shift")
    return joined((level, *(upright(axis, end, "shift", BAR_PX / 2) for end in ends)))


def _bloom(
    axis: Axis, rows: Sequence[CalendarRow], place: int, against: Against | None,
    moved: BloomSpan | None, notes: Sequence[float], is_to: Beside | None,
) -> Markup:  # fmt: skip
    one = rows[place]
    if one.span is None:
        return unknown_bloom()
    parts = []
    if one.own_days is not None:
        parts.append(bar(axis, *own_ends(one.span, one.own_days), "own", LINE_PX))
    if one.usual is not None:
        parts.append(bar(axis, one.usual.start, one.usual.end, "before", BAR_PX + 4))
    behind = against is not None and place in against.partners and not _is_refused(is_to)
    kind = one.verdict if one.verdict in NEED else "behind" if behind else "bloom"
    shared = shared_span(rows[against.row].span, one.span) if behind and against else None
    filled = NOTHING if shared is None else bar(axis, *shared, "shared")
    if one.sheds:
        parts += [dotted(axis, one.span.start, one.span.end, "catkins"), filled]
    else:
        parts.append(bloom_bar(axis, one.span, kind, filled))
    if against is not None and place == against.row:
        parts.append(bar(axis, one.span.start, one.span.end, "frame", BAR_PX + 2))
    if moved is not None:
        parts.append(bar(axis, moved.start, moved.end, "before", BAR_PX + 4))
    note = Markup('<svg x="{:.2f}%" overflow="visible"><path class="own-note" d="{}"/></svg>')
    parts += [note.format(axis.at(day), "M0 -5L5 0L0 5L-5 0Z") for day in notes]
    return joined(parts)


def _told(
    rows: Sequence[CalendarRow], place: int, against: Against | None, is_to: Beside | None
) -> str:
    if against is None or rows[against.row].span is None or place not in against.partners:
        return ""
    if is_to is not None and _is_refused(is_to):
        return is_to.told
    begin, end = shared_span(rows[against.row].span, rows[place].span) or (0.0, 0.0)
    shared = days(round(end - begin))
    return shared if is_to is None else f"{shared}, {is_to.told}"


def _is_refused(is_to: Beside | None) -> bool:
    return is_to is not None and is_to.kind == "no donor"


def _days_row(found: DayShares, window: tuple[int, int]) -> Markup:
    """Columns from a floor upwards, the tallest as high as the row."""
    label = day_shares_label(found, window)
    seen, shares = shown_shares(found, window)
    tallest = float(shares.max(initial=0.0)) or 1.0
    path = "".join(
        f"M{day - window[0] + 0.05:g} 1v{-share / tallest:.3f}h.9v{share / tallest:.3f}z"
        for day, share in zip(seen.tolist(), shares.tolist(), strict=True)
        if share > 0
    )
    kind = "honey" if found.of == "bees" else "frost"
    return Markup(
        '<div class="row days"><div class="name">{}</div>'
        '<svg class="bar" role="img" width="100%" height="{}" viewBox="0 0 {} 1" '
        'preserveAspectRatio="none"><title>{}</title><path class="{}" d="{}"/></svg>'
        '<div class="told"></div></div>'
    ).format(label, ROW_PX, window[1] - window[0], label, kind, path)


# --- the key -------------------------------------------------------------------------------------


def _key(
    spring: Spring, against: Against | None, old: Sequence[BloomSpan | None]
) -> Iterator[Markup]:
    words = bloom_key(
        spring.rows,
        winter=spring.winter is not None,
        shifts=bool(spring.shifts),
        notes=bool(spring.marks),
    )
    for part, text in words.items():
        yield swatch("before" if part == "usual" else part.replace(" ", "-"), text)
    if against is not None:
        yield swatch("shared", _("shared with the framed limb"))
    if any(old):
        yield swatch("before", _("before the try-out"))
