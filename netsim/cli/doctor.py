"""``netsim doctor``: whether everything is here and calculates right."""

import platform
from importlib.metadata import version

import click

from netsim import __version__
from netsim.cli.options import debug_option
from netsim.errors import DisagreementError, NetsimError, Problem

_LIBRARIES = ("numpy", "scikit-rf", "PySpice", "pint", "pydantic", "matplotlib", "schemdraw")


@click.command("doctor", short_help="Find the engine and test it.")
@debug_option
def command() -> int:
    """Find the engine, print versions, and solve a circuit whose answer is known, both ways."""
    click.echo(f"netsim {__version__}, Python {platform.python_version()}, {platform.system()}")
    click.echo(", ".join(f"{name} {version(name)}" for name in _LIBRARIES))
    engine = _engine()
    _solve("scikit-rf", "two_port")
    if engine is not None:
        raise engine
    _solve("ngspice", "spice")
    click.echo("All is well. Next: netsim new my-amplifier.toml, or netsim check FILE")
    return 0


def _engine() -> NetsimError | None:
    """Say where the engine is and which it is; hand back the failure if it is not there."""
    from netsim.solvers import spice

    try:
        click.echo(
            f"ngspice {spice.version()} from {spice.library()}, in a process of its own without start-up files"
        )
    except NetsimError as error:
        click.echo("ngspice: not usable")
        return error
    return None


def _solve(name: str, solver: str) -> None:
    """Solve the known circuit with one solver and hold it against the answer."""
    from netsim.solvers import known_answer

    found = known_answer.solve(solver)
    error = known_answer.error(found)
    click.echo(
        f"{name}: an L network to {known_answer.PLATE_LOAD:g} ohm: "
        f"{found.real:.6f} {'-' if found.imag < 0 else '+'} j{abs(found.imag):.6f} ohm, off by {error:.1e}"
    )
    if not error <= known_answer.TOLERANCE:
        raise DisagreementError(
            Problem("wrong_answer", f"{name} gives {found} instead of {known_answer.PLATE_LOAD:g} ohm")
        )
