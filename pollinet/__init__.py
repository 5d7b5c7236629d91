"""Which limb of a fruit tree has a viable pollen donor here, and what to graft so that all have."""


def __getattr__(name: str) -> object:
    """Look the version and `open_study` up when they are asked for: importing them costs time."""
    if name == "__version__":
        from importlib.metadata import PackageNotFoundError, version

        try:
            return version("pollinet")
        except PackageNotFoundError:
            return "0+unknown"
    if name in __all__:
        from pollinet import study

        return getattr(study, name)
    raise AttributeError(f"module 'pollinet' has no attribute {name!r}")


__all__ = ["Study", "open_study"]


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
