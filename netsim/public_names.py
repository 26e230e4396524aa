"""The names that ``import netsim`` offers, each imported where it is first asked for."""

HOMES = {
    "Amplifier": "netsim.description.reader",
    "loads": "netsim.description.reader",
    "read": "netsim.description.reader",
    **dict.fromkeys(("Result", "analyse"), "netsim.api.result"),
    **dict.fromkeys(("Advice", "bench", "compare", "design", "fit", "fix", "taps"), "netsim.api.advice"),
    **dict.fromkeys(("Networks", "networks"), "netsim.api.networks"),
    **dict.fromkeys(
        (
            "BalanceError",
            "DescriptionError",
            "DisagreementError",
            "EngineFailedError",
            "EngineMissingError",
            "NetsimError",
            "OutputError",
            "Problem",
            "SolveError",
            "UsageError",
        ),
        "netsim.errors",
    ),
}
"""Module of each name; ``__init__.pyi`` says the same to type checkers."""


def __getattr__(name: str) -> object:
    """Return a public name of the package. Raises AttributeError if there is none such."""
    if name not in HOMES:
        raise AttributeError(f"module 'netsim' has no attribute {name!r}")
    from importlib import (
        import_module,
    )  # not before: until the command handles Ctrl-C, nothing is to take long

    found: object = getattr(import_module(HOMES[name]), name)
    return found


def __dir__() -> list[str]:
    """Return the public names of the package."""
    return ["__version__", *sorted(HOMES)]
