"""The batch solver against ngspice at 200 random networks, every node voltage and branch current."""

import numpy as np
import pytest

from netsim.circuit.parts import Parts
from netsim.circuit.topology import build_ladder
from netsim.solvers import batch, spice
from netsim.solvers.agreement import worst_relative

COUNT = 100
ORDERS = np.arange(1.0, 11.0)


@pytest.mark.parametrize("topology", ["pi", "pi-L"])
def test_batch_and_ngspice_agree(topology):
    """Cross-solver: random values over decades, drawn with a fixed seed."""
    draw = np.random.default_rng(20240 + len(topology))

    def between(low, high):
        return np.exp(draw.uniform(np.log(low), np.log(high), COUNT))

    parts = Parts(
        topology=topology,
        frequency=between(1.8e6, 30e6),
        plate_load=between(500, 8000),
        coil=between(0.3e-6, 30e-6),
        coil_q=between(50, 500),
        tune_minimum=np.array(5e-12),
        tune_maximum=np.array(500e-12),
        load_minimum=np.array(20e-12),
        load_maximum=np.array(2e-9),
        antenna_resistance=between(20, 200),
        output_capacitance=between(3e-12, 50e-12),
        suppressor_inductance=between(10e-9, 200e-9),
        suppressor_resistance=between(20, 200),
        plate_choke=between(20e-6, 500e-6),
        plate_choke_q=between(30, 200),
        plate_choke_capacitance=between(0.5e-12, 5e-12),
        blocking_capacitance=between(200e-12, 5e-9),
        blocking_q=between(200, 5000),
        tune_q=between(200, 5000),
        tune_padding=between(5e-12, 200e-12),
        tune_padding_q=between(200, 5000),
        tune_stray=between(1e-12, 10e-12),
        load_q=between(200, 5000),
        load_padding=between(5e-12, 500e-12),
        load_padding_q=between(200, 5000),
        load_stray=between(1e-12, 20e-12),
        output_coil=between(0.2e-6, 10e-6) if topology == "pi-L" else np.array(0.0),
        output_coil_q=between(50, 500),
        output_choke=between(0.1e-3, 3e-3),
        output_choke_q=between(30, 200),
    )
    ladder = build_ladder(parts, between(5e-12, 500e-12), between(20e-12, 2e-9))
    apart = worst_relative(batch.solve(ladder, ORDERS), spice.solve(ladder, ORDERS))
    assert apart.shape == (COUNT,)
    assert apart.max() < 1e-9
