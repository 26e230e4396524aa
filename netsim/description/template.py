"""Amplifier files to start from, with a comment for every figure that their owner has to find."""

from importlib.resources import files


def template(*, ideal: bool = False) -> str:
    """Return the text of a valid amplifier file.

    Parameters
    ----------
    ideal : bool
        The short one, with coils by their inductance, instead of turns, gaps and points of curves.
    """
    name = "template_by_inductances.toml" if ideal else "template_by_turns.toml"
    return files("netsim.description").joinpath(name).read_text(encoding="utf-8")
