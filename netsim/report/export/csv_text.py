"""The points of a result as one tidy table: a row for every number."""

import csv
import io
from collections.abc import Iterator

from netsim.analysis import Analysis
from netsim.verdict.result import BandResult, Point, Verdict

COLUMNS = (
    "band",
    "frequency_hertz",
    "part",
    "quantity",
    "order",
    "value",
    "unit",
    "operating_point",
    "cross_check",
)
CHECKED = "ngspice against scikit-rf"
UNCHECKED = "not cross-checked"

Row = tuple[str, str, int | None, float | None, str]


def dump(result: Analysis) -> str:
    """Write every number of every point as comma-separated values with the header `COLUMNS`.

    Lines end in newline, a number that does not exist is an empty field. ``order`` is the multiple of the working
    frequency, for harmonics only; ``part`` is ``network`` or ``stage`` for what belongs to no single part;
    ``operating_point`` is empty for the stage as it stands in the file. Texts of the file (band names) are quoted
    where the format asks for it, and otherwise as written.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    check = CHECKED if result.verdict.cross_checked else UNCHECKED
    for where, band in _bands(result.verdict):
        for point in band.points:
            place = (band.name, point.frequency_hertz)
            writer.writerows((*place, *row, where, check) for row in _rows(point))
    return text.getvalue()


def _bands(verdict: Verdict) -> Iterator[tuple[str, BandResult]]:
    """Give every band, with the name of its operating point."""
    yield from (("", band) for band in verdict.bands)
    for point in verdict.operating_points:
        yield from ((point.name, band) for band in point.bands)


def _rows(point: Point) -> Iterator[Row]:
    real, imaginary = point.plate_impedance_ohm
    yield "network", "plate_resistance", None, real, "ohm"
    yield "network", "plate_reactance", None, imaginary, "ohm"
    yield "network", "tuned", None, float(point.tuned), "1"
    yield "tune_capacitor", "setting", None, point.tune_farad, "F"
    yield "tune_capacitor", "setting_needed", None, point.tune_needed_farad, "F"
    yield "load_capacitor", "setting", None, point.load_farad, "F"
    yield "load_capacitor", "setting_needed", None, point.load_needed_farad, "F"
    yield "coil", "inductance", None, point.coil_henry, "H"
    if point.output_coil_henry is not None:
        yield "output_coil", "inductance", None, point.output_coil_henry, "H"
    yield "network", "loaded_q", None, point.loaded_q, "1"
    yield "network", "stored_energy_q", None, point.stored_energy_q, "1"
    yield "network", "efficiency", None, point.efficiency, "1"
    yield "network", "output", None, point.output_watt, "W"
    yield "stage", "plate_dissipation", None, point.plate_dissipation_watt, "W"
    for harmonic in point.harmonics:
        yield "network", "attenuation", harmonic.order, harmonic.attenuation_db, "dB"
        yield "network", "harmonic_level", harmonic.order, harmonic.level_dbc, "dBc"
    yield from _stresses(point)
    yield "network", "worst_relative_difference", None, point.agreement.worst_relative, "1"


def _stresses(point: Point) -> Iterator[Row]:
    for name, stress in point.parts.items():
        if stress is None:
            continue
        yield name, "voltage_peak", None, stress.voltage_peak_volt, "V"
        yield name, "rf_voltage_peak", None, stress.rf_voltage_peak_volt, "V"
        yield name, "unloaded_voltage_peak", None, stress.unloaded_voltage_peak_volt, "V"
        yield name, "current_rms", None, stress.current_rms_ampere, "A"
        yield name, "loss", None, stress.loss_watt, "W"
        if stress.reactive_power_volt_ampere is not None:
            yield name, "reactive_power", None, stress.reactive_power_volt_ampere, "VA"
