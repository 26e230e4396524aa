"""Each band's worst antenna by ngspice too: which it is, that a lie about it costs the result."""

from dataclasses import replace

import numpy as np
import pytest
from engines import engine
from samples import TUBE, amplifier_from, edited

from netsim.analysis import analyse
from netsim.analysis.worst_antennas import worst_antennas
from netsim.errors import DisagreementError
from netsim.verdict.any_antenna import WorstLoad


def amplifier(plain, folder, swr=2.0, tube=""):
    return amplifier_from(edited(plain, ("worst_swr = 2.0", f"worst_swr = {swr}")) + tube, folder)


def test_one_antenna_of_each_band_is_solved_twice(plain, tmp_path):
    """Cross-solver: ngspice on the band's worst antenna gives what numpy gives."""
    found = analyse(amplifier(plain, tmp_path)).solved
    checked = found.any_antenna.checked
    assert [int(found.assembly.band_index[one.network]) for one in checked] == [0, 1, 2]
    assert all(0 < one.worst_relative < 1e-6 for one in checked)
    # The finding that uses most of its limit in each band names the same frequency and antenna.
    assert worst_antennas(found) == tuple((one.network, one.load) for one in checked)
    assert analyse(amplifier(plain, tmp_path), engine="two-port").solved.any_antenna.checked == ()


def test_it_is_the_antenna_that_uses_a_limit_most(plain, tmp_path):
    """Derived: a part driven far past its rating on one load of one network is the worst of its band."""
    solved = analyse(amplifier(plain, tmp_path), engine="two-port").solved
    found = solved.any_antenna
    for row in (2, 3):
        value, load = (np.array(v) for v in found.worst["load_capacitor", "current_rms"])
        value[row], load[row] = 1e3, 123 + row
        worst = {**found.worst, ("load_capacitor", "current_rms"): WorstLoad(value, load)}
        assert worst_antennas(replace(solved, any_antenna=replace(found, worst=worst)))[1] == (row, 123 + row)


def test_operating_points_count_among_their_bands(plain, tmp_path):
    text = edited(plain, ("worst_swr = 2.0", "worst_swr = 1.5"))
    text += (
        '\n[[operating_points]]\nname = "more"\nplate_voltage = "3.4 kV"\nno_load_plate_voltage = "3.6 kV"\n'
    )
    solved = analyse(amplifier_from(text, tmp_path)).solved
    checked = solved.any_antenna.checked
    assert len(checked) == 3
    assert {int(solved.assembly.point_index[one.network]) for one in checked} == {1}


@pytest.mark.parametrize("tube", ["", TUBE])
def test_a_lie_about_another_antenna_costs_the_result(plain, tmp_path, tube, monkeypatch):
    """Only the third network of the run is spoilt, which the matched ones are not."""
    from netsim.solvers import spice

    real = spice.solve

    def lying(ladder, orders):
        found = real(ladder, orders)
        if len(ladder) > 1:  # one band, one frequency: all but its antennas are single
            return found
        asked.append(ladder)
        if len(asked) < 3:
            return found
        currents = {**found.branch_current, "coil": found.branch_current["coil"] * (1 + 2e-6)}
        return replace(found, branch_current=currents)

    asked = []
    monkeypatch.setattr(spice, "solve", lying)
    text = edited(plain, ('"7.05 MHz", "7.15 MHz"', '"7.1 MHz"'))
    with pytest.raises(DisagreementError, match=r"other antennas differ by 2e-06 at 7\.1 MHz") as caught:
        analyse(amplifier_from(text + tube, tmp_path), band="40 m")
    assert caught.value.status == 3
    assert len(asked) == 3


def test_a_lying_engine_is_caught_on_the_measured_antenna(plain, tmp_path):
    (tmp_path / "wire.s1p").write_text("# MHz S RI R 50\n1 0.2 0.1\n200 0.2 0.1\n")
    text = edited(plain, ("worst_swr = 2.0", 'measured = "wire.s1p"'))
    assert len(analyse(amplifier_from(text, tmp_path)).solved.any_antenna.checked) == 3
    with (
        engine("phasors(lambda v, netlist: v.__setitem__('n1_output', v['n1_output'] * 1.1))"),
        pytest.raises(DisagreementError),
    ):
        analyse(amplifier_from(text, tmp_path))
