"""Every number of a point, worked out again from the file by nodal admittance matrices.

Cross-solver: nothing of the circuit, the solvers or the verdict is used; waveforms are summed in time.
"""

import math

import numpy as np
import pytest
from samples import amplifier_from, edited
from scipy.optimize import brentq

from netsim.analysis import analyse

SAMPLES = 2048


def test_given_settings_are_kept(plain, tmp_path):
    text = edited(plain, ('coil = "5.8 uH"', SETTINGS["coil"]))
    points = [
        p
        for b in analyse(amplifier_from(text, tmp_path), engine="two-port", samples=1).verdict.bands
        for p in b.points
    ]
    kept = [(p.tune_farad, p.load_farad) == (95e-12, 300e-12) for p in points]
    assert kept == [False, False, True, True, False, False]
    # What they would have to be is told all the same.
    assert points[2].tune_needed_farad == pytest.approx(75e-12, rel=0.05)
    assert not points[2].tuned


class Rows(list):
    """Elements at one order, a row each."""

    def __init__(self, w, order):
        self.w, self.order = w, order

    def coil(self, name, one, other, value, q):
        loss = self.w * value / q * math.sqrt(self.order) if q else 0.0
        self.append((name, one, other, 1j * self.order * self.w * value + loss, loss, value, None))

    def capacitor(self, name, one, other, value, q=None):
        if value:
            loss = 1 / (self.w * value * q) if q else 0.0
            self.append((name, one, other, 1 / (1j * self.order * self.w * value) + loss, loss, None, value))

    def led(self, name, one, other, value, part):
        if part.lead_inductance:
            self.coil(f"{name} lead", one, name, part.lead_inductance, None)
            one = name
        self.capacitor(name, one, other, value, part.q)


class Network:
    """One frequency of one band; elements are rows of name, nodes, impedance, loss, inductance, capacitance."""

    def __init__(self, description, band, frequency):
        self.a, self.n, self.band = description, description.network, band
        self.w = 2 * math.pi * frequency

    def elements(self, tune, load, order, antenna=True):
        n, band = self.n, self.band
        rows = Rows(self.w, order)
        coil, capacitor, led = rows.coil, rows.capacitor, rows.led
        capacitor("tube", "p", "0", self.a.stage.output_capacitance)
        here = "p"
        if n.plate_lead_inductance:
            coil("plate lead", "p", "l", n.plate_lead_inductance, None)
            here = "l"
        if n.suppressor:
            rows.append(
                ("suppressor", here, "j", n.suppressor.resistance, n.suppressor.resistance, None, None)
            )
            coil("suppressor coil", here, "j", n.suppressor.inductance, None)
            here = "j"
        if n.plate_choke:
            coil("plate_choke", here, "0", n.plate_choke.inductance, n.plate_choke.q)
            capacitor("choke capacitance", here, "0", n.plate_choke.self_capacitance)
        if n.blocking_capacitor:
            led("blocking_capacitor", here, "t", n.blocking_capacitor.capacitance, n.blocking_capacitor)
            here = "t"
        led("tune_capacitor", here, "0", tune, n.tune_capacitor)
        capacitor("tune stray", here, "0", n.tune_capacitor.stray)
        capacitor("tune_padding", here, "0", band.tune_padding, n.tune_padding and n.tune_padding.q)
        coil("coil", here, "o", band.coil, n.coil.q)
        led("load_capacitor", "o", "0", load, n.load_capacitor)
        capacitor("load stray", "o", "0", n.load_capacitor.stray)
        capacitor("load_padding", "o", "0", band.load_padding, n.load_padding and n.load_padding.q)
        here = "o"
        if n.output_coil:
            coil("output_coil", "o", "a", band.output_coil, n.output_coil.q)
            here = "a"
        if n.output_choke:
            coil("output_choke", here, "0", n.output_choke.inductance, n.output_choke.q)
        if antenna:
            rows.append(("antenna", here, "0", self.a.antenna.resistance, 0.0, None, None))
        return rows

    def solve(self, tune, load, order=1, antenna=True):
        """Voltage across and current through every element, and V_P, for 1 A drawn out of the plate.

        One equation for every node and for every element: what flows out of each node adds up, and each element
        has its impedance times its current across it, and what another coil's current induces.
        """
        rows = self.elements(tune, load, order, antenna)
        names = sorted({node for row in rows for node in row[1:3]} - {"0"})
        at = {name: k for k, name in enumerate(names)}
        count, whole = len(names), len(names) + len(rows)
        matrix, source = np.zeros((whole, whole), dtype=complex), np.zeros(whole, dtype=complex)
        for k, (_, one, other, impedance, *_) in enumerate(rows, count):
            for node, sign in ((one, 1), (other, -1)):
                if node != "0":
                    matrix[at[node], k] += sign
                    matrix[k, at[node]] += sign
            matrix[k, k] -= impedance
        if self.n.output_coil and self.n.output_coil.coupling:
            i, k = (count + [row[0] for row in rows].index(name) for name in ("coil", "output_coil"))
            mutual = self.n.output_coil.coupling * math.sqrt(self.band.coil * self.band.output_coil)
            matrix[i, k] = matrix[k, i] = -1j * order * self.w * mutual
        source[at["p"]] = -1
        found = np.linalg.solve(matrix, source)
        volts = {**dict(zip(names, found, strict=False)), "0": 0}
        across = {row[0]: volts[row[1]] - volts[row[2]] for row in rows}
        return across, {row[0]: i for row, i in zip(rows, found[count:], strict=True)}, volts["p"], rows


SETTINGS = {"coil": 'coil = "5.8 uH"\ntune = "95 pF"\nload = "300 pF"'}
PI_L = [
    ('topology = "pi"', 'topology = "pi-L"\n[network.output_coil]\nq = 250'),
    ('coil = "11.2 uH"', 'coil = "12.5 uH"\noutput_coil = "4.6 uH"'),
    ('coil = "5.8 uH"', 'coil = "6.4 uH"\noutput_coil = "2.3 uH"'),
    ('coil = "2.9 uH"', 'coil = "3.2 uH"\noutput_coil = "1.15 uH"'),
]
SCENARIOS = {
    "plain": [],
    "pi-L": PI_L,
    "grounded grid": [('drive_voltage_peak = "0 V"', 'drive_voltage_peak = "85 V"')],
    "settings given": [('coil = "5.8 uH"', SETTINGS["coil"])],
    "tune capacitor stuck": [('minimum = "15 pF"', 'minimum = "60 pF"')],
    "coil too large": [('coil = "5.8 uH"', 'coil = "15 uH"')],
    "no blocking capacitor": [
        ('[network.blocking_capacitor]\ncapacitance = "1 nF"\nq = 2000\nvoltage_rating = "7.5 kV"\n', ""),
        (
            'current_rating = "10 A"\nreactive_power_rating = "20 kVA"\n\n[network.tune_cap',
            "[network.tune_cap",
        ),
    ],
    "leads": [
        ("[network.suppressor]", 'plate_lead_inductance = "70 nH"\n[network.suppressor]'),
        ("[network.blocking_capacitor]", '[network.blocking_capacitor]\nlead_inductance = "30 nH"'),
        ("[network.tune_capacitor]", '[network.tune_capacitor]\nlead_inductance = "40 nH"'),
        ("[network.load_capacitor]", '[network.load_capacitor]\nlead_inductance = "30 nH"'),
    ],
    "coils that couple": [(old, new.replace("q = 250", "q = 250\ncoupling = 0.06")) for old, new in PI_L],
    "lead in resonance beyond reach": [
        ("[network.load_capacitor]", '[network.load_capacitor]\nlead_inductance = "400 nH"'),
    ],
    "tune capacitor too large for any dip": [('minimum = "15 pF"', 'minimum = "200 pF"')],
    "other antenna, poor parts": [('resistance = "50 ohm"', 'resistance = "22 ohm"'), ("q = 2000", "q = 40")],
}


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_number_of_every_point(name, plain, tmp_path):
    amplifier = amplifier_from(edited(plain, *SCENARIOS[name]), tmp_path)
    verdict = analyse(amplifier, engine="two-port", samples=1).verdict
    for band, solved in zip(amplifier.description.bands, verdict.bands, strict=True):
        for point in solved.points:
            check(Network(amplifier.description, band, point.frequency_hertz), point, verdict.stage)


def check(network, point, stage):
    tune, load, given = point.tune_farad, point.load_farad, network.a.stage
    orders = [network.solve(tune, load, order) for order in range(1, 11)]
    across, through, plate, rows = orders[0]
    impedance = -plate
    nominal = stage.plate_load_ohm
    scale = min(1.0, nominal / abs(impedance))
    current = np.array(stage.current_spectrum) * given.plate_current * scale
    assert complex(*point.plate_impedance_ohm) == pytest.approx(impedance, rel=1e-9)
    assert point.tuned == (abs(impedance - nominal) <= 1e-3 * nominal)

    side = ("tube", "plate_choke", "choke capacitance", "tune stray", "tune_padding")
    susceptance = sum(network.w * c if c else -1 / (network.w * ind) for n, *_, ind, c in rows if n in side)
    susceptance += 1 / (1 / (network.w * tune) - network.w * network.n.tune_capacitor.lead_inductance)
    assert point.loaded_q == pytest.approx(nominal * susceptance, rel=1e-9)
    stored = 0.0
    for name, *_, inductance, capacitance in rows:
        if inductance:
            stored += inductance * abs(through[name]) ** 2 / 4
        if capacitance:
            stored += capacitance * abs(through[name] / (network.w * capacitance)) ** 2 / 4
    if network.n.output_coil and network.n.output_coil.coupling:
        mutual = network.n.output_coil.coupling * math.sqrt(network.band.coil * network.band.output_coil)
        stored += mutual * (through["coil"] * through["output_coil"].conjugate()).real / 2
    assert point.stored_energy_q == pytest.approx(network.w * stored / (impedance.real / 2), rel=1e-9)

    plate_power = current[0] ** 2 * impedance.real / 2
    delivered = abs(through["antenna"] * current[0]) ** 2 * network.a.antenna.resistance / 2
    assert point.output_watt == pytest.approx(delivered, rel=1e-9)
    assert point.efficiency == pytest.approx(delivered / plate_power, rel=1e-9)
    feed = given.plate_voltage * given.plate_current * scale + current[0] * given.drive_voltage_peak / 2
    assert point.plate_dissipation_watt == pytest.approx(feed - plate_power, rel=1e-9)
    for harmonic in point.harmonics:
        ratio = abs(through["antenna"] / orders[harmonic.order - 1][1]["antenna"])
        assert harmonic.attenuation_db == pytest.approx(20 * math.log10(ratio), abs=1e-8)
        share = abs(current[harmonic.order - 1] / current[0])
        assert harmonic.level_dbc == pytest.approx(20 * math.log10(share / ratio), abs=1e-8)

    supply = given.no_load_plate_voltage
    behind = 0.0 if network.n.blocking_capacitor else supply
    dc = {"plate_choke": supply, "blocking_capacitor": supply} | dict.fromkeys(
        ["tune_capacitor", "tune_padding", "load_capacitor", "load_padding", "output_choke"], behind
    )
    tuned_off = unloaded(network, load, supply, abs(current[0]) / scale)
    time = np.exp(2j * np.pi * np.outer(np.arange(1, 11), np.arange(SAMPLES) / SAMPLES))
    for name, stress in point.parts.items():
        place = "coil" if name == "band_switch" else name
        if place not in across:
            assert stress is None
            continue
        volts = np.array([solved[0][place] for solved in orders]) * current
        wave = (volts[:, np.newaxis] * time).real.sum(axis=0)
        assert stress.rf_voltage_peak_volt == pytest.approx(np.abs(wave).max(), rel=1e-3)
        assert stress.voltage_peak_volt == pytest.approx(np.abs(wave + dc.get(name, 0)).max(), rel=1e-3)
        quiet = abs(tuned_off[place]) + dc.get(name, 0.0)
        assert stress.unloaded_voltage_peak_volt == pytest.approx(quiet, rel=1e-6)
        beside = {"suppressor": "suppressor coil"}.get(name)
        amperes = np.array([s[1][place] + (s[1][beside] if beside else 0) for s in orders]) * current
        direct = given.plate_current * scale if name in ("suppressor", "plate_choke") else 0.0
        rms = math.sqrt((np.abs(amperes) ** 2).sum() / 2 + direct**2)
        assert stress.current_rms_ampere == pytest.approx(rms, rel=1e-9)
        loss = [next(r[4] for r in s[3] if r[0] == place) for s in orders]
        own = np.array([s[1][place] for s in orders]) * current
        heat = 0.0 if name == "band_switch" else (np.abs(own) ** 2 * loss).sum() / 2
        assert stress.loss_watt == pytest.approx(heat, rel=1e-9)


def unloaded(network, load, supply, fundamental):
    """Voltages with the antenna off at the dip within range or the stop nearest to it."""
    part = network.n.tune_capacitor

    def seen(setting):
        return -network.solve(setting, load, antenna=False)[2]

    grid = np.linspace(-15.0, 15.0, 601) / (network.w**2 * network.band.coil)
    values = [(1 / seen(g)).imag for g in grid]
    dips = [
        brentq(lambda c: (1 / seen(c)).imag, grid[k], grid[k + 1], xtol=1e-24, rtol=1e-14)
        for k in range(len(grid) - 1)
        if values[k] * values[k + 1] < 0
    ]
    at = min(max(max(dips, key=lambda s: abs(seen(s))), part.minimum), part.maximum)
    across, _, plate, _ = network.solve(at, load, antenna=False)
    swing = min(supply, fundamental * abs(plate))
    return {name: volts / plate * swing for name, volts in across.items()}
