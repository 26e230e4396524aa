"""Networks with everything in them held but what an operator turns: for a model that a page can solve itself."""

from dataclasses import dataclass

import numpy as np

from netsim.analysis.analysis import Analysis
from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.ladder import Ladder
from netsim.circuit.stage import PlateCurrent
from netsim.circuit.topology import build_ladder
from netsim.description.models.amplifier import Band


@dataclass(frozen=True)
class HeldBand:
    """One band at one frequency, at every position of the band switch.

    Attributes
    ----------
    row : int
        Its network in the result.
    positions : tuple of str
        Names of the bands whose taps may be chosen; the coils' values are those at this band's frequency.
    own : int
        Which of them is the band's own.
    assembly, ladder : Assembly, Ladder
        One network for each position, capacitors as solved, this band's paddings.
    current : ndarray
        Complex peak plate current of orders 1 to 10 [A], shape ``(10,)``, before the limit below.
    direct : float
        Mean plate current [A].
    reference : float
        Magnitude of plate impedance beyond which all plate currents fall as its inverse [ohm].
    """

    row: int
    positions: tuple[str, ...]
    own: int
    assembly: Assembly
    ladder: Ladder
    current: ComplexArray
    direct: float
    reference: float

    def drawn(self, impedance: ComplexArray) -> PlateCurrent:
        """Return the plate current at impedances of the fundamental [ohm], shape ``(n,)``.

        Notes
        -----
        All orders times ``s = min(1, R / |Z_P|)``, R being `reference`. Of the pulse this is the stage's own
        rule; of a tube the spectrum stays that of the solved setting, which a real one leaves when it is turned.
        The heat is not known so, and NaN.
        """
        scale: FloatArray = np.minimum(1.0, self.reference / np.abs(impedance))
        return PlateCurrent(
            scale * self.direct, scale[:, np.newaxis] * self.current, np.full(len(scale), np.nan)
        )


def held_bands(result: Analysis, rows: list[int]) -> tuple[HeldBand, ...]:
    """Return the bands of a result, each at one of its networks.

    Parameters
    ----------
    result : Analysis
        Solved; the stage as it stands in the file.
    rows : list of int
        A network of each band, in the result's order.
    """
    solved, description = result.solved, result.amplifier.description
    choices: dict[tuple[object, ...], Band] = {}
    for band in description.bands:
        choices.setdefault(_coils(band), band)
    numbers = [int(solved.assembly.band_index[row]) for row in rows]
    tried = [
        description.bands[number].model_copy(
            update={
                "frequencies": (float(solved.frequency[row]),),
                "tune": None,
                "load": None,
                **dict(zip(_KEYS, key, strict=True)),
            }
        )
        for row, number in zip(rows, numbers, strict=True)
        for key in choices
    ]
    whole = description.model_copy(update={"bands": tuple(tried)})
    assembly = assemble(result.amplifier, whole, points=False, switch=description.bands)
    names, found = tuple(band.name for band in choices.values()), []
    for place, (row, number) in enumerate(zip(rows, numbers, strict=True)):
        own = assembly.take(np.arange(len(names)) + place * len(names))
        settings = (np.full(len(names), side[row]) for side in (solved.settings.tune, solved.settings.load))
        stage, tube = solved.assembly.stage, solved.tube_state is not None
        found.append(
            HeldBand(
                row,
                names,
                list(choices).index(_coils(description.bands[number])),
                own,
                build_ladder(own.parts, *settings),
                solved.current.phasors[row] if tube else stage.current_peak[row].astype(np.complex128),
                float(solved.current.direct[row] if tube else stage.direct_current[row]),
                float(np.abs(solved.plate_impedance[row]) if tube else own.parts.plate_load[0]),
            )
        )
    return tuple(found)


_KEYS = ("coil", "coil_turns", "output_coil", "output_coil_turns")


def _coils(band: Band) -> tuple[object, ...]:
    return tuple(getattr(band, key) for key in _KEYS)
