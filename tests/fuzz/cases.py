"""One case of the fuzz: files and a command, chosen by a seed alone."""

import random
from dataclasses import dataclass
from typing import Any

from respelling import Respeller

from netsim.description.reader import loads
from netsim.errors import NetsimError

from . import seeds
from .mutation import mutated, mutated_text

FILE, OTHER, MADE, PAGE = "amplifier.toml", "other.toml", "made.toml", "page.html"
COMMANDS = ("check", "fix", "taps", "design", "compare", "bench", "fit", "report", "export")
_READABLE, _DRAWS = 0.8, 8
"""Share of files that are drawn again until they can be read, so that solvers get their share, and how often."""
_SMALL = 0.85
"""Share of files cut down to one to three bands, so that more of them are tried in the same time."""
_COIL_KEYS = ("coil", "coil_turns", "output_coil", "output_coil_turns", "tune_padding", "load_padding")


@dataclass(frozen=True)
class Case:
    """Files in a folder, and the arguments of a command that runs in it.

    Attributes
    ----------
    seed : int
    command : str
    files : dict of str to bytes
    arguments : tuple of str
        The command's name is the first.
    """

    seed: int
    command: str
    files: dict[str, bytes]
    arguments: tuple[str, ...]


def case(seed: int, command: str, *, both: bool = False) -> Case:
    """Return the case of a seed.

    Parameters
    ----------
    seed : int
        Makes all choices.
    command : str
        One of `COMMANDS`.
    both : bool
        Whether ngspice takes part.
    """
    rng = random.Random(f"{seed} {command}")
    table = _table(rng, command)
    files = {name: text.encode() for name, text in seeds.measurements().items()}
    if rng.random() < 0.3:
        name = rng.choice(list(files))
        files[name] = mutated_text(rng, files[name].decode())
    files[FILE] = _written(rng, table, command)
    files[OTHER] = _written(rng, _table(rng, command), command) if command == "compare" else b""
    arguments = [command, *_arguments(rng, command, table)]
    if not both:
        arguments += ["--engine", "two-port"]
    return Case(seed, command, files, tuple(arguments))


def _table(rng: random.Random, command: str) -> dict[str, Any]:
    tables = seeds.tables()
    with_readings = [name for name, table in tables.items() if "measured" in table]
    name = rng.choice(with_readings if command in ("fit", "bench") and rng.random() < 0.8 else list(tables))
    start = _with_few_bands(rng, tables[name]) if rng.random() < _SMALL else tables[name]
    table = mutated(rng, start, wild=rng.choice((0.0, 0.1, 0.6)))
    if rng.random() < _READABLE:
        for _ in range(_DRAWS):
            if _reads(table):
                break
            table = mutated(rng, start, wild=0.05)
    if command == "design" and isinstance(table.get("bands"), list):
        for band in table["bands"]:
            if isinstance(band, dict) and rng.random() < 0.8:
                for key in _COIL_KEYS:
                    band.pop(key, None)
    return table


def _with_few_bands(rng: random.Random, table: dict[str, Any]) -> dict[str, Any]:
    """Return a table with one to three of its bands, and the readings of these."""
    bands = table["bands"]
    kept = sorted(rng.sample(range(len(bands)), min(rng.choice((1, 1, 2, 3)), len(bands))))
    names = {bands[n]["name"] for n in kept}
    found = {**table, "bands": [bands[n] for n in kept]}
    if "measured" in table:
        readings = [reading for reading in table["measured"] if reading.get("band") in names | {None}]
        found["measured"] = readings
    return found


def _reads(table: dict[str, Any]) -> bool:
    """Whether the reader takes a table; whether it is right to, the commands show."""
    try:
        loads(Respeller(0).write(table))
    except NetsimError:
        return False
    return True


def _written(rng: random.Random, table: dict[str, Any], command: str) -> bytes:
    if rng.random() < 0.1:
        return mutated_text(rng, rng.choice(list(seeds.texts().values())))
    text = Respeller(rng.randrange(2**32)).write(table)
    if rng.random() < 0.05:
        return mutated_text(rng, text)
    return text.encode("utf-8", "surrogatepass")


def _arguments(rng: random.Random, command: str, table: dict[str, Any]) -> list[str]:
    """Return the arguments after the command's name; JSON more often than not."""
    found = [FILE, *_OPTIONS[command](rng)]
    if command in ("check", "report") and rng.random() < 0.15:
        found += ["--swr", rng.choice(("1", "1.3", "2", "3", "20", "100", "101", "nan"))]
    if command == "export" or (command == "check" and rng.random() < 0.15):
        found += ["--band", _band(table)]
    if command in ("report", "export"):
        return found
    return [*found, "--json"] if rng.random() < 0.75 else found


def _sampling(rng: random.Random) -> list[str]:
    return ["--samples", rng.choice(("1", "16", "64", "64", "256", "4096"))]


def _for_taps(rng: random.Random) -> list[str]:
    return rng.choice(
        ([], [], ["--plate-load", rng.choice(("2.2 kohm", "50 ohm", "40 kohm", "700", "1e9 ohm"))])
    )


def _for_bench(rng: random.Random) -> list[str]:
    resistor = rng.choice(("3.3 kohm", "50 ohm", "1 Mohm", "0 ohm"))
    return [*_sampling(rng), *rng.choice(([], [], [], ["--plate-resistor", resistor]))]


def _for_fix(rng: random.Random) -> list[str]:
    return ["--budget", rng.choice(("1", "300", "2000")), *rng.choice(([], ["--options"], ["--write", MADE]))]


def _for_fit(rng: random.Random) -> list[str]:
    return rng.choice(([], ["--write", MADE]))


def _for_design(rng: random.Random) -> list[str]:
    target = rng.choice(("2", "8", "30", "900"))
    return ["-o", MADE, *rng.choice(([], ["--q-definition", "stored-energy"], ["--target", target]))]


def _for_compare(rng: random.Random) -> list[str]:
    found = rng.choice(([OTHER], ["--topology", "pi", "pi-L"], ["--topology", "pi-L", "pi"]))
    return [*found, *(["-o", PAGE] if rng.random() < 0.1 else [])]


def _for_report(rng: random.Random) -> list[str]:
    return ["-o", PAGE]


def _for_export(rng: random.Random) -> list[str]:
    return ["--format", rng.choice(("netlist", "touchstone", "csv", "json"))]


_OPTIONS = {
    "check": _sampling,
    "fix": _for_fix,
    "taps": _for_taps,
    "design": _for_design,
    "compare": _for_compare,
    "bench": _for_bench,
    "fit": _for_fit,
    "report": _for_report,
    "export": _for_export,
}


def _band(table: dict[str, Any]) -> str:
    bands = table.get("bands")
    first = bands[-1] if isinstance(bands, list) and bands else None
    return str(first.get("name", "x")) if isinstance(first, dict) else "x"
