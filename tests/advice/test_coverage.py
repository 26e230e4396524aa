import numpy as np
import pytest

from netsim.advice.coverage import plate_load_coverage, settings_coverage
from netsim.analysis import analyse
from netsim.circuit.tuning import plate_impedance
from netsim.description.reader import loads, read
from netsim.errors import UsageError


@pytest.fixture(scope="module")
def old(circuits):
    return read(circuits / "old-tubes.toml")


def test_the_present_amplifier_is_served(old):
    for band in old.description.bands:
        low, high = plate_load_coverage(old, band.name).range_served(within_window=True)
        assert low < 1905.9 < high


def test_the_new_tube_is_beyond_what_the_old_network_serves(circuits):
    found = plate_load_coverage(read(circuits / "new-tube.toml"), "80 m")
    assert found.range_served()[1] < found.present_load


def test_every_point_of_the_map_is_what_tuning_says(circuits, old):
    found = plate_load_coverage(old, "20 m", 31, 7)
    assert found.matched.shape == found.tune.shape == (31, len(found.frequency))
    here = int(np.argmin(abs(found.plate_load / found.present_load - 1)))
    there = int(np.argmin(abs(found.frequency - 14.0e6)))
    point = analyse(old, band="20 m", engine="two-port", samples=1).verdict.bands[0].points[0]
    assert found.tune[here, there] == pytest.approx(point.tune_farad, rel=1e-6)
    assert found.load[here, there] == pytest.approx(point.load_farad, rel=1e-6)


def test_served_is_never_more_than_matched(old):
    found = plate_load_coverage(old, "40 m")
    assert not (found.served & ~found.matched).any()
    assert found.served.sum() < found.matched.sum()


def test_the_plane_of_settings_has_its_match_where_it_says(old):
    found = settings_coverage(old, "20 m", 14.0e6, 201)
    tune, load = found.present
    i, j = np.unravel_index(np.argmin(found.swr), found.swr.shape)
    assert found.tune[i] == pytest.approx(tune, rel=2 * (found.tune[1] / found.tune[0] - 1))
    assert found.load[j] == pytest.approx(load, rel=8 * (found.load[1] / found.load[0] - 1))
    assert found.swr.min() >= 1


@pytest.mark.parametrize("band", ["10 m", "80 m", "20 m"])
def test_the_plane_holds_the_match_and_some_of_both_ranges(circuits, band):
    new = read(circuits / "new-tube.toml")
    found = settings_coverage(new, band)
    for side, needed in zip(("tune", "load"), found.present, strict=True):
        part = getattr(new.description.network, f"{side}_capacitor")
        low, high = getattr(found, f"{side}_range")
        assert (low, high) == (part.minimum, part.maximum)
        axis = getattr(found, side)
        assert axis[0] < needed < axis[-1]
        assert axis[0] < high
        assert axis[-1] > low


def test_without_a_match_the_plane_is_the_whole_range(circuits):
    text = (
        (circuits / "old-tubes.toml")
        .read_text(encoding="utf-8")
        .replace('coil = "1.95 uH"', 'coil = "60 uH"')
    )
    found = settings_coverage(loads(text, "large.toml"), "20 m", points=9)
    assert found.present is None
    assert found.tune[0] < found.tune_range[0] < found.tune_range[1] < found.tune[-1]
    assert found.load[0] < found.load_range[0] < found.load_range[1] < found.load[-1]


def test_the_plane_is_the_impedance_at_each_pair(old):
    from netsim.circuit.assembly import assemble

    found = settings_coverage(old, "40 m", 7.0e6, 11)
    parts = assemble(old, bands=[1]).parts.take(np.array([0]))
    seen = plate_impedance(parts, found.tune[3:4], found.load[7:8])[0]
    reflection = abs((seen - parts.plate_load) / (seen + parts.plate_load))
    assert found.swr[3, 7] == pytest.approx((1 + reflection) / (1 - reflection), rel=1e-9)


def test_an_unknown_band_is_refused(old):
    with pytest.raises(UsageError, match="there is no band '6 m'"):
        plate_load_coverage(old, "6 m")


def test_the_coil_of_a_winding_is_worked_out_at_every_frequency(circuits):
    found = plate_load_coverage(read(circuits / "new-tube.toml"), "20 m", 11, 5)
    assert found.matched.any()
