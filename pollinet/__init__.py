"""Which limb of a fruit tree has a viable pollen donor here, and what to graft so that all have.

import pollinet

garden = pollinet.open("plan.toml")
garden.check()
"""

from importlib import import_module

_PLACES = {
    "BadPlan": "errors",
    "BadQuestion": "errors",
    "WrongChange": "errors",
    "Garden": "notebook",
    "collection": "notebook",
    "cross": "notebook",
    "open": "notebook:open_garden",
    "varieties": "notebook",
    "Study": "study",
    "open_study": "study",
}
"""Where each public name stands; looked up when asked for, since importing them costs time."""


def __getattr__(name: str) -> object:
    if name == "__version__":
        from importlib.metadata import PackageNotFoundError, version

        try:
            return version("pollinet")
        except PackageNotFoundError:
            return "0+unknown"
    if name in _PLACES:
        module, _, inner = _PLACES[name].partition(":")
        return getattr(import_module(f"pollinet.{module}"), inner or name)
    raise AttributeError(f"module 'pollinet' has no attribute {name!r}")


__all__ = [*_PLACES]


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
