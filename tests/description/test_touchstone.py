"""Touchstone files: values as scikit-rf reads them (cross-check), and what is refused."""

import io

import numpy as np
import pytest
from samples import amplifier_from

from netsim.description.touchstone import load, parse
from netsim.errors import DescriptionError

ONE_PORT = """! invented antenna
# MHz S RI R 50
1.0 0.1 -0.2
2.0 0.3 0.4   ! resonance
4.0 -0.5 0.0
"""
TWO_PORT = """# GHz S DB R 75
0.001 -20 10  -0.5 -30  -0.5 -30  -20 100
0.010 -18 20  -1.0 -60  -1.1 -65  -17 110
0.100 -1.0 170  -30 -90  -30 -90  -1.0 -170
"""


@pytest.mark.parametrize(
    ("text", "ports"),
    [
        (ONE_PORT, 1),
        (ONE_PORT.replace("# MHz S RI R 50", "# khz s ma r 75"), 1),
        (ONE_PORT.replace("# MHz S RI R 50", "#"), 1),
        (TWO_PORT, 2),
    ],
)
def test_values_as_scikit_rf_reads_them(text, ports):
    import skrf

    stream = io.StringIO(text)
    stream.name = f"measurement.s{ports}p"
    expected = skrf.Network(stream)
    found = parse(text, "measurement", ports)
    np.testing.assert_allclose(found.frequency, expected.f, rtol=1e-12)
    np.testing.assert_allclose(found.scattering, expected.s, rtol=1e-12)
    assert found.reference == expected.z0[0, 0].real


@pytest.mark.parametrize("wanted", [0.9e6, 4.1e6])
def test_working_frequencies_that_were_not_measured(wanted):
    with pytest.raises(DescriptionError, match="measured from 1 MHz to 4 MHz") as caught:
        parse(ONE_PORT, "antenna.s1p", 1).demand(np.array([2e6, wanted]))
    assert caught.value.problems[0].code == "frequency_not_measured"
    parse(ONE_PORT, "antenna.s1p", 1).demand(np.array([1e6, 4e6]))


ONE_PORT_AS_TWO = """! one sweep, saved as two ports
# MHz S RI R 50
1.0 0.1 -0.2 0 0 0 0 0 0
2.0 0.3 0.4 0 0 0 0 0 0
4.0 -0.5 0.0 0 0 0 0 0 0
"""


@pytest.mark.parametrize(
    ("text", "at", "line", "much"),
    [
        (ONE_PORT_AS_TWO, 2e6, 4, "nothing"),
        (TWO_PORT.replace("-1.0 -60  -1.1", "-41.0 -60  -41"), 10e6, 3, "-41 dB"),
    ],
)
def test_a_filter_that_passes_nothing_where_it_works(text, at, line, much):
    with pytest.raises(DescriptionError, match=f"S21. is {much}") as caught:
        parse(text, "low.s2p", 2).demand(np.array([at]))
    problem = caught.value.problems[0]
    assert (problem.code, problem.file, problem.line) == ("filter_passes_nothing", "low.s2p", line)


def test_a_filter_may_stop_what_is_no_working_frequency():
    parse(TWO_PORT.replace("-30 -90", "-70 -90"), "low.s2p", 2).demand(np.array([1e6, 10e6]))


@pytest.mark.parametrize(
    ("text", "ports", "code", "line"),
    [
        (TWO_PORT, 1, "wrong_port_count", 2),
        (ONE_PORT, 2, "wrong_port_count", 3),
        (ONE_PORT.replace("0.3 0.4", "0.8 0.7"), 1, "not_passive", 4),
        (ONE_PORT.replace("0.3 0.4", "1.0 0.0"), 1, "not_passive", 4),
        (TWO_PORT.replace("-30 -90", "-1.0 -90"), 2, "not_passive", 4),
        (ONE_PORT.replace("RI", "Z"), 1, "touchstone_syntax", 2),
        (ONE_PORT.replace(" S ", " Y "), 1, "touchstone_syntax", 2),
        (ONE_PORT.replace("R 50", "R -50"), 1, "touchstone_syntax", 2),
        (ONE_PORT.replace("R 50", "R 1e308"), 1, "touchstone_syntax", 2),
        (ONE_PORT.replace("R 50", "R 1e-300"), 1, "touchstone_syntax", 2),
        (ONE_PORT.replace("R 50", "R 0.09"), 1, "touchstone_syntax", 2),
        (ONE_PORT.replace("R 50", "R 10001"), 1, "touchstone_syntax", 2),
        (ONE_PORT.replace("4.0 ", "1e308 "), 1, "touchstone_syntax", 5),
        (TWO_PORT.replace("-30 -90", "1e6 -90"), 2, "not_passive", 4),
        (TWO_PORT.replace("-20 10", "1e6 10"), 2, "not_passive", 2),
        (ONE_PORT.replace("2.0", "0.5"), 1, "touchstone_syntax", 4),
        (ONE_PORT.replace("0.3", "nan"), 1, "touchstone_syntax", 4),
        (ONE_PORT.replace("0.3", "1e999"), 1, "touchstone_syntax", 4),
        ("[Version] 2.0\n" + ONE_PORT, 1, "touchstone_syntax", 1),
        ("# MHz S RI R 50\n", 1, "touchstone_syntax", None),
    ],
)
def test_what_is_refused(text, ports, code, line):
    with pytest.raises(DescriptionError) as caught:
        parse(text, "file", ports)
    problem = caught.value.problems[0]
    assert (problem.code, problem.line, problem.file) == (code, line, "file")


@pytest.fixture
def measured(plain, tmp_path):
    return amplifier_from(plain.read_text().replace("worst_swr = 2.0", 'measured = "wire.s1p"'), tmp_path)


def test_read_from_beside_the_amplifier(measured, tmp_path):
    (tmp_path / "wire.s1p").write_text(ONE_PORT)
    assert load(measured, "measured").shown == str(tmp_path / "wire.s1p")


def test_a_file_that_is_missing_is_told_at_its_key(measured):
    with pytest.raises(DescriptionError, match="no such file") as caught:
        load(measured, "measured")
    problem = caught.value.problems[0]
    assert problem.code == "file_missing"
    assert problem.key == "antenna.measured"
    assert 'measured = "wire.s1p"' in measured.text.splitlines()[problem.line - 1]


def test_a_link_out_of_the_folder_is_not_followed(measured, tmp_path, tmp_path_factory):
    elsewhere = tmp_path_factory.mktemp("elsewhere") / "wire.s1p"
    elsewhere.write_text(ONE_PORT)
    (tmp_path / "wire.s1p").symlink_to(elsewhere)
    with pytest.raises(DescriptionError, match="leads out") as caught:
        load(measured, "measured")
    assert caught.value.problems[0].code == "file_elsewhere"


def test_a_link_within_the_folder_is(measured, tmp_path):
    (tmp_path / "other.s1p").write_text(ONE_PORT)
    (tmp_path / "wire.s1p").symlink_to("other.s1p")
    assert load(measured, "measured").reference == 50.0
