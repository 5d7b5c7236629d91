"""Exceptions for broken promises inside the program.

Problems in what a person typed or supplied are not exceptions: they are values, see
`pollinet.findings`. Only the command line catches `PollinetError`.
"""


class PollinetError(Exception):
    """Root of all errors that Pollinet raises itself."""


class ShapeError(PollinetError):
    """Arrays handed to a stage do not fit together."""


class CatalogueMissing(PollinetError):
    """The catalogues that ship with the program are not where they must be."""


class SolverFailure(PollinetError):
    """The solver stopped without an answer and without a reason we can pass on."""
