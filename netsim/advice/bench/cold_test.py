"""The cold test of every band: which resistor, what an analyser shows, which way it moves."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from netsim.analysis.bench.cold_match import PlateResistor, socket_impedance
from netsim.analysis.networks import capacitor_settings
from netsim.circuit.assembly import Assembly, assemble
from netsim.circuit.elements import ComplexArray, FloatArray
from netsim.circuit.parts import Parts
from netsim.circuit.preferred_values import E12, nearest
from netsim.circuit.reflection import reflection_of, swr_of
from netsim.description.dial import Dial
from netsim.description.models.capacitors import VariableCapacitor
from netsim.description.reader import Amplifier

MORE = 1.05
"""What a little more is, of a setting or of an inductance."""


NEAR = 0.05
"""A single resistor this near needs no second."""

_DECADES = (1.0, 10.0, 1e2, 1e3, 1e4, 1e5)


@dataclass(frozen=True)
class Resistors:
    """One resistor or two, and what they make together [ohm]."""

    values: tuple[float, ...]
    joined: Literal["alone", "series", "parallel"]
    resistance: float


@dataclass(frozen=True)
class ColdTest:
    """One line of the card: a band at its middle frequency, at the settings of the bench card.

    Attributes
    ----------
    band : str
    frequency_hertz : float
    plate_load_ohm : float
        What the resistor stands in for.
    resistors : Resistors
    tune_farad, load_farad : float
        Settings.
    tune_dial, load_dial : float or None
        The same by the dial tables; None without one, or beyond it.
    impedance_ohm : complex
        At the antenna socket.
    swr : float
        Of it against the antenna's resistance.
    more_tune, more_load, more_coil : complex or None
        What it becomes with 5 % more of a setting, or with the tap one step further on, 5 % more inductance
        where the coil is not wound; None where the tap would leave the winding.
    """

    band: str
    frequency_hertz: float
    plate_load_ohm: float
    resistors: Resistors
    tune_farad: float
    load_farad: float
    tune_dial: float | None
    load_dial: float | None
    impedance_ohm: complex
    swr: float
    more_tune: complex
    more_load: complex
    more_coil: complex | None


def cold_tests(amplifier: Amplifier, plate_resistor: float | None = None) -> tuple[ColdTest, ...]:
    """Work out the cold test of every band, in their order.

    With the plate resistor at hand [ohm]; by default with what preferred ones come nearest to the plate load.
    """
    assembly = assemble(amplifier, points=False)
    of_bands = (np.flatnonzero(assembly.band_index == n) for n in range(len(amplifier.description.bands)))
    assembly = assembly.take(np.array([rows[len(rows) // 2] for rows in of_bands if rows.size]))
    parts, settings = assembly.parts, capacitor_settings(assembly)
    chosen = [
        nearest_resistors(float(load))
        if plate_resistor is None
        else Resistors((plate_resistor,), "alone", plate_resistor)
        for load in parts.plate_load
    ]
    nothing = np.zeros(())
    resistor = PlateResistor(np.array([r.resistance for r in chosen]), nothing, nothing)

    def seen(of: Parts, tune: FloatArray, load: FloatArray) -> ComplexArray:
        return socket_impedance(amplifier, of, tune, load, resistor)

    tune, load = settings.tune, settings.load
    impedance = seen(parts, tune, load)
    more_tune, more_load = seen(parts, tune * MORE, load), seen(parts, tune, load * MORE)
    longer, within = _more_coil(amplifier, assembly)
    more_coil = seen(longer, tune, load)
    against = np.broadcast_to(np.asarray(parts.antenna_resistance), impedance.shape)
    swr = swr_of(reflection_of(impedance, against))
    network, bands = amplifier.description.network, amplifier.description.bands
    return tuple(
        ColdTest(
            band=bands[int(assembly.band_index[n])].name,
            frequency_hertz=float(parts.frequency[n]),
            plate_load_ohm=float(parts.plate_load[n]),
            resistors=chosen[n],
            tune_farad=float(tune[n]),
            load_farad=float(load[n]),
            tune_dial=dial_figure(network.tune_capacitor, float(tune[n])),
            load_dial=dial_figure(network.load_capacitor, float(load[n])),
            impedance_ohm=complex(impedance[n]),
            swr=float(swr[n]),
            more_tune=complex(more_tune[n]),
            more_load=complex(more_load[n]),
            more_coil=complex(more_coil[n]) if within[n] else None,
        )
        for n in range(len(assembly))
    )


def dial_figure(part: VariableCapacitor, farads: float) -> float | None:
    """Return where the dial stands at a setting [F]; None without a dial table, or beyond it."""
    if not part.dial:
        return None
    figure = float(Dial(part.dial).figure(farads))
    return None if np.isnan(figure) else figure


def _more_coil(amplifier: Amplifier, assembly: Assembly) -> tuple[Parts, np.ndarray]:
    """Give the networks with a little more coil, and where that can be had."""
    parts, wound = assembly.parts, assembly.coil
    more = np.asarray(parts.coil) * MORE
    within = np.ones(len(assembly), dtype=bool)
    if wound is None:
        return replace(parts, coil=more), within
    step = amplifier.description.network.coil.tap_step
    turns = wound.tapped.turns + step
    can = turns <= wound.winding.turns * (1 + 1e-12)
    there = wound.at(np.where(can, turns, wound.tapped.turns), wound.tapped.frequency)
    within[wound.rows] = can
    quality = np.array(np.broadcast_to(parts.coil_q, more.shape))
    across = np.array(np.broadcast_to(parts.coil_capacitance, more.shape))
    more[wound.rows], quality[wound.rows], across[wound.rows] = (
        there.inductance,
        there.q,
        there.self_capacitance,
    )
    return replace(parts, coil=more, coil_q=quality, coil_capacitance=across), within


def nearest_resistors(wanted: float) -> Resistors:
    """Return what comes nearest to a resistance of 10 ohm to 100 kohm, by ratio.

    The nearest preferred number (IEC 60063, E12) if it is within 5 %, else the nearest two in series or in parallel.
    """
    single = nearest(wanted, E12)
    if abs(single / wanted - 1) <= NEAR:
        return Resistors((single,), "alone", single)
    series = np.array([float(f"{mantissa * decade:.6g}") for decade in _DECADES for mantissa in E12])
    one, other = np.meshgrid(series, series, indexing="ij")
    sums = {"series": one + other, "parallel": one * other / (one + other)}
    found = []
    for joined, together in sums.items():
        place = np.unravel_index(np.argmin(np.abs(np.log(together / wanted))), together.shape)
        pair = tuple(sorted((float(one[place]), float(other[place]))))
        found.append(Resistors(pair, "series" if joined == "series" else "parallel", float(together[place])))
    return min(found, key=lambda pair: abs(np.log(pair.resistance / wanted)))
