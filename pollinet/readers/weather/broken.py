"""The finding for JSON that is cut short or lacks what its format promises."""

from __future__ import annotations

import json

from pollinet.findings import Finding
from pollinet.messages import say


def broken_json(problem: Exception, file: str) -> Finding:
    """One error finding; names the line where the text stops making sense, if there is one."""
    cut = isinstance(problem, json.JSONDecodeError | RecursionError)
    return Finding(
        "error",
        "broken-file",
        say("The file breaks off or is damaged.")
        if cut
        else say("The file lacks a part that its format promises."),
        file,
        line=problem.lineno if isinstance(problem, json.JSONDecodeError) else None,
        cure=say("Get the file again, completely."),
    )
