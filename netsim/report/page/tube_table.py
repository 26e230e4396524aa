"""What the tube's own curves give, point by point, where the file has them."""

from collections.abc import Iterator
from dataclasses import dataclass

from netsim.description.formatting import NOTHING, format_quantity
from netsim.verdict.result import BandResult, LargeSignalResult


@dataclass(frozen=True)
class LargeSignalRow:
    """One frequency, written out."""

    frequency: str
    plate_current: str
    grid_current: str
    drive: str
    grid_dissipation: str
    conduction_angle: str
    lowest_plate_voltage: str
    input_resistance: str
    difference: str


def large_signal_rows(band: BandResult) -> Iterator[LargeSignalRow]:
    """Write out the points of a band at which the tube itself was worked out."""
    for point in band.points:
        if point.large_signal is not None:
            yield _row(format_quantity(point.frequency_hertz, "Hz"), point.large_signal)


def _row(frequency: str, found: LargeSignalResult) -> LargeSignalRow:
    difference = found.worst_difference_to_spice_db
    return LargeSignalRow(
        frequency=frequency,
        plate_current=f"{format_quantity(found.plate_current_dc_ampere, 'A')} DC",
        grid_current=f"{format_quantity(found.grid_current_dc_ampere, 'A')} DC",
        drive=format_quantity(found.drive_watt, "W"),
        grid_dissipation=format_quantity(found.grid_dissipation_watt, "W"),
        conduction_angle=format_quantity(found.conduction_angle_degree, "deg"),
        lowest_plate_voltage=format_quantity(found.plate_voltage_minimum_volt, "V"),
        input_resistance=format_quantity(found.input_resistance_ohm, "ohm"),
        difference=NOTHING if difference is None else f"{difference:.2g} dB",
    )
