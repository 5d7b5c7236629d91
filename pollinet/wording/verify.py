"""Whether an answer of before is given again, in words."""

from __future__ import annotations

from pollinet.language import _, joined, ngettext


def verified_answer(inputs: int, values: int, versions: int) -> str:
    """The answer in one sentence: how many inputs, values and versions are not as they were."""
    if not inputs and not values:
        if versions:
            return _("Same: every value and every input is as it was, though versions differ.")
        return _("Same: every value and every input is as it was.")
    parts = []
    if values:
        parts.append(ngettext("{number} value", "{number} values", values).format(number=values))
    if inputs:
        parts.append(ngettext("{number} input", "{number} inputs", inputs).format(number=inputs))
    if versions:
        parts.append(
            ngettext("{number} version", "{number} versions", versions).format(number=versions)
        )
    told = joined(parts)
    if not values:
        return _("Not the same: {what} changed; every value is as it was.").format(what=told)
    return _("Not the same: {what} changed.").format(what=told)
