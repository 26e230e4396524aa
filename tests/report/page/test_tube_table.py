from dataclasses import replace

from netsim.analysis import Analysis
from netsim.report.page.band_section import band_sections
from netsim.report.page.page import render
from netsim.report.page.tube_table import large_signal_rows
from netsim.verdict.result import Harmonic, LargeSignalResult

FOUND = LargeSignalResult(
    plate_current_dc_ampere=0.512,
    grid_current_dc_ampere=0.151,
    output_watt=880.0,
    drive_watt=61.0,
    feed_through_watt=40.0,
    plate_dissipation_watt=501.0,
    grid_dissipation_watt=9.5,
    efficiency=0.614,
    conduction_angle_degree=191.0,
    plate_voltage_minimum_volt=350.0,
    input_resistance_ohm=None,
    harmonics=(Harmonic(2, 40.0, -48.0),),
    worst_difference_to_spice_db=None,
)


def with_tube(solved: Analysis) -> Analysis:
    """Give the first point of the first band what a tube's curves would."""
    band = solved.verdict.bands[0]
    changed = replace(band, points=(replace(band.points[0], large_signal=FOUND), *band.points[1:]))
    return replace(solved, verdict=replace(solved.verdict, bands=(changed, *solved.verdict.bands[1:])))


def test_only_points_with_a_tube_are_listed(solved_plain: Analysis) -> None:
    (row,) = large_signal_rows(with_tube(solved_plain).verdict.bands[0])
    assert (row.plate_current, row.grid_current) == ("512 mA DC", "151 mA DC")
    assert (row.drive, row.grid_dissipation) == ("61.0 W", "9.50 W")
    assert (row.conduction_angle, row.lowest_plate_voltage) == ("191°", "350 V")
    assert (row.input_resistance, row.difference) == ("–", "–")


def test_the_table_stands_where_there_is_a_tube(solved_plain: Analysis) -> None:
    words = "By the tube’s own curves"
    assert words not in render(solved_plain)
    page = render(with_tube(solved_plain))
    assert page.count(words) == 1
    assert "512 mA DC" in page
    # One output, one heat, one efficiency: those of the operating points.
    assert "880 W" not in page
    assert [bool(section.large_signal) for section in band_sections(with_tube(solved_plain))] == [
        True,
        False,
        False,
    ]
