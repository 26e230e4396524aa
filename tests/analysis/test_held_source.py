"""Networks with the plate current held."""

from pathlib import Path

import numpy as np
import pytest

from netsim.analysis import analyse
from netsim.analysis.held_source import held_bands
from netsim.description.reader import read


@pytest.mark.parametrize("name", ["new-tube.toml", "new-tube-pi-l.toml"])
def test_the_own_position_is_the_network_of_the_result(circuits: Path, name: str) -> None:
    result = analyse(read(circuits / name), engine="two-port", samples=1)
    rows = [int(rows[0]) for _, _, rows in result.solved.bands()]
    for held, row in zip(held_bands(result, rows), rows, strict=True):
        parts, whole = held.assembly.parts, result.solved.assembly.parts
        assert parts.frequency[held.own] == whole.frequency[row]
        for key in ("coil", "coil_q", "output_coil", "load_padding", "plate_load"):
            own, wanted = (np.ravel(getattr(p, key)) for p in (parts, whole))
            assert own[held.own if own.size > 1 else 0] == pytest.approx(
                wanted[row if wanted.size > 1 else 0]
            )
        impedance = result.solved.plate_impedance[[row]]
        drawn = held.drawn(impedance)
        assert drawn.phasors[0] == pytest.approx(result.solved.current.phasors[row])
        assert drawn.direct[0] == pytest.approx(result.solved.current.direct[row])


def test_currents_fall_where_the_plate_cannot_swing(circuits: Path) -> None:
    """Derived: s = R / |Z| beyond the reference."""
    result = analyse(read(circuits / "new-tube-pi-l.toml"), engine="two-port", samples=1)
    (held, *_) = held_bands(result, [int(rows[0]) for _, _, rows in result.solved.bands()])
    drawn = held.drawn(np.array([0.5, 2.0]) * held.reference + 0j)
    assert drawn.direct == pytest.approx([held.direct, held.direct / 2])
    assert np.abs(drawn.phasors[1]) == pytest.approx(np.abs(held.current) / 2)
