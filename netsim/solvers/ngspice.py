"""The ngspice library through PySpice, guarded against the ways in which it fails silently.

It is loaded in a process of its own (see ``engine_program``), because the library reads start-up files,
ends the process when it fails and cannot be interrupted.
"""

import logging
import re
import warnings
from collections.abc import Iterable

import numpy as np

from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.errors import EngineFailedError, Problem

# PySpice logs every stderr line of the engine; what matters is raised below, so keep its log quiet.
logging.getLogger("PySpice").addHandler(logging.NullHandler())
with warnings.catch_warnings():
    # Its sources hold escapes that Python 3.12 and later warn about on first compilation.
    warnings.filterwarnings("ignore", category=SyntaxWarning)
    from PySpice.Spice.NgSpice.Shared import NgSpiceShared, ffi

_BENIGN = re.compile(
    r"""\s*(
        Warning: | Note: | Using\ (SPARSE|KLU) | No\ compatibility\ mode | Supplies\ reduced
        | (Trying|Starting|Finished|Completed|Dynamic|True|One\ successful)\b.*\b(gmin|source|stepping)
        | \w*\ ?(gmin|source)\ stepping | Reducing\ trtol | Doing\ analysis | $
    )""",
    re.VERBOSE | re.IGNORECASE,
)
_FATAL = re.compile(r"resistance to low|singular|error|can't|cannot|unknown|failed|aborted", re.IGNORECASE)


def is_harmless(line: str) -> bool:
    """Return whether a line that ngspice wrote to stderr leaves the result intact.

    Parameters
    ----------
    line : str
        Without the leading ``stderr``.

    Notes
    -----
    Known openings are harmless, except a warning that a value was replaced (a zero resistance becomes
    1 milliohm); whatever is not known counts as fatal.
    """
    if "can't find init file" in line or "can't find the initialization file" in line:
        return True
    return bool(_BENIGN.match(line)) and not _FATAL.search(line)


class Ngspice(NgSpiceShared):  # type: ignore[misc]
    """PySpice's binding, which raises on a rejected netlist instead of running the one before.

    Parameters
    ----------
    library : str
        Name or path that the dynamic loader opens.
    """

    def __init__(self, library: str) -> None:
        self.errors: list[str] = []
        self._path = library
        super().__init__()

    @property
    def library_path(self) -> str:
        """Return what was loaded; PySpice's own way to it knows fewer names."""
        return self._path

    def send_char(self, message: str, ngspice_id: int) -> int:
        """Sort the engine's messages; PySpice's own flag would condemn harmless notes."""
        stream, _, line = message.partition(" ")
        if stream == "stderr" and not is_harmless(line):
            self.errors.append(line.strip())
        self._error_in_stderr = bool(self.errors)
        return 0

    def run_alone(self, netlist: str, names: Iterable[str]) -> dict[str, FloatArray | ComplexArray]:
        """Solve a netlist and leave nothing behind.

        Parameters
        ----------
        netlist : str
            With its analysis.
        names : iterable of str
            Vectors wanted, such as ``frequency``, a node's or ``vtube#branch``.

        Returns
        -------
        dict of str to ndarray
            Each as long as the analysis has points; one without numbers is left out.

        Raises
        ------
        EngineFailedError
            If the engine complains of anything that is not known to be harmless, such as a vector that is not there.
        """
        self.errors.clear()
        loaded = False
        try:
            self.load_circuit(netlist)
            self._raise_errors()
            loaded = True
            self.exec_command("run")
            self._raise_errors()
            plot = self.last_plot
            found = {name: self._vector(f"{plot}.{name}") for name in names}
            self._raise_errors()
        except (NameError, ValueError) as refusal:  # what PySpice raises for the engine
            raise self._failure(str(refusal)) from refusal
        finally:
            self._clean(loaded)
        return {name: values for name, values in found.items() if values is not None}

    def _vector(self, name: str) -> FloatArray | ComplexArray | None:
        """Copy one vector; PySpice's own way gives all of them, units included, and takes three times as long."""
        vector = self._ngspice_shared.ngGet_Vec_Info(name.encode("ascii"))
        if vector == ffi.NULL:
            return None
        if vector.v_compdata != ffi.NULL:
            return np.frombuffer(ffi.buffer(vector.v_compdata, vector.v_length * 16), np.complex128).copy()
        if vector.v_realdata != ffi.NULL:
            return np.frombuffer(ffi.buffer(vector.v_realdata, vector.v_length * 8), np.float64).copy()
        return None

    def _clean(self, loaded: bool) -> None:
        """Drop circuit and vectors: a circuit left behind would answer for the next one, and leak."""
        errors = list(self.errors)
        for command in ["destroy all", *(["remcirc"] if loaded else [])]:
            self.errors.clear()
            self.exec_command(command)
        self.errors[:] = errors

    def _raise_errors(self) -> None:
        if self.errors:
            raise self._failure("")

    def _failure(self, reason: str) -> EngineFailedError:
        said = "; ".join(self.errors) or reason or "no message"
        return EngineFailedError(Problem("engine_failed", f"ngspice did not solve the circuit: {said}"))
