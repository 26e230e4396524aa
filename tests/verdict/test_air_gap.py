"""Peak voltage of air gaps. Published: the handbook's table of 1947; the density from the standard atmosphere."""

import numpy as np
import pytest
from samples import edited, judged

from netsim.verdict.air_gap import air_density_ratio, gap_is_listed, gap_voltage


@pytest.mark.parametrize(("inches", "volts"), [(0.047, 1500), (0.077, 3000), (0.177, 6000)])
def test_the_handbooks_gaps(inches, volts):
    # Published: ARRL handbook of 1947, gaps of variable capacitors.
    assert gap_voltage(inches * 25.4e-3) == pytest.approx(volts, rel=1e-12)


def test_between_and_beyond_the_gaps():
    # Derived: straight lines; in proportion below, the last slope above.
    assert gap_voltage(0.062 * 25.4e-3) == pytest.approx(2250)
    assert gap_voltage(0.0235 * 25.4e-3) == pytest.approx(750)
    assert gap_voltage(0.277 * 25.4e-3) == pytest.approx(9000)
    gaps = np.linspace(0.1e-3, 20e-3, 400)
    assert np.all(np.diff(gap_voltage(gaps)) > 0)
    # A uniform gap breaks down at 3 kV/mm peak or more (published, 1 cm): practice stays well below.
    assert np.all(gap_voltage(gaps) < 0.6 * 3e6 * gaps)
    assert [gap_is_listed(gap) for gap in (1e-3, 1.6e-3, 5e-3)] == [False, True, False]


@pytest.mark.parametrize(
    ("metres", "density"), [(0, 1.2250), (1000, 1.1117), (1500, 1.0581), (3000, 0.90925)]
)
def test_density_of_the_air(metres, density):
    # From memory: US Standard Atmosphere 1976, kg/m3, listed by geometric altitude, which is 0.05 % more.
    assert air_density_ratio(metres) * 1.2250 == pytest.approx(density, rel=2e-4)
    assert gap_voltage(0.077 * 25.4e-3, metres) == pytest.approx(3000 * density / 1.2250, rel=2e-4)


def test_a_gap_stands_in_for_the_rating(wound, plain, tmp_path):
    verdict = judged(wound.read_text(), tmp_path).verdict
    voltages = [
        f
        for f in verdict.findings
        if f.part == "tune_capacitor" and f.quantity.endswith("voltage_peak") and f.case != "any_antenna"
    ]
    assert {f.code for f in voltages} == {"part_voltage", "part_unloaded_voltage"}
    limit = float(gap_voltage(4e-3, 800))
    line = 1 + wound.read_text().splitlines().index('air_gap = "4 mm"')
    for finding in voltages:
        assert finding.limit == pytest.approx(limit)
        assert "gap of 4.00 mm (handbook practice)" in finding.message
        assert finding.line == line
    thin = judged(edited(plain, ('voltage_rating = "4.5 kV"', 'air_gap = "0.8 mm"')), tmp_path).verdict
    over = next(
        f
        for f in thin.findings
        if (f.part, f.code, f.case) == ("tune_capacitor", "part_voltage", "matched") and f.state == "over"
    )
    assert over.state == "over"
    assert "outside its table" in over.message
