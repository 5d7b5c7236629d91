"""Why a file cannot be read, in words a person can act on."""

from __future__ import annotations

from pollinet.files import reason_of
from pollinet.findings import Finding
from pollinet.messages import NOTHING, say

__all__ = ["reason_of", "unreadable"]


def unreadable(problem: OSError | UnicodeError, file: str, *, cure: str = NOTHING) -> Finding:
    """That a file cannot be read.

    cure : what to do where the file is there; one that is not must be named rightly.
    """
    missing = isinstance(problem, FileNotFoundError)
    code = "missing-file" if missing else "unreadable-file"
    if missing:
        cure = say("check its name and folder")
    cure = cure or say("name an ordinary file that you may read")
    return Finding("error", code, reason_of(problem), file, cure=cure)
