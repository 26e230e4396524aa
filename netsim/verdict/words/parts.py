"""Parts against their ratings."""

from netsim.description.formatting import format_quantity, percent
from netsim.verdict.air_gap import gap_is_listed
from netsim.verdict.checks.parts import RATING_OF, Rating
from netsim.verdict.judged import Judged, NotRated
from netsim.verdict.solved import Solved
from netsim.verdict.words.text import Text, at, label, written

SITUATIONS = {
    "tune": "tune capacitor off the dip",
    "load": "load capacitor turned, tune capacitor dipped again",
    "antenna_gone": "antenna gone, settings as they were",
    "dipped_again": "antenna gone, tune capacitor dipped again",
}


def shown(rating: Rating, value: float) -> str:
    """Write a stress with unit and kind of amplitude."""
    return f"{format_quantity(float(value), rating.unit)} {rating.amplitude}".rstrip()


def gap_words(solved: Solved, judged: Judged, row: int) -> str:
    """Say that a rating comes from an air gap; nothing where it does not."""
    if judged.key(row)[-1] != "air_gap":
        return ""
    gap = getattr(solved.description.network, judged.check.part).air_gap
    beyond = "" if gap_is_listed(gap) else ", outside its table"
    return f" by its gap of {format_quantity(gap, 'm')} (handbook practice{beyond})"


def rated(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell what a part carries into the matched antenna, or with the antenna off."""
    name, rating = judged.check.part, RATING_OF[judged.check.code]
    value, limit = float(judged.value[row]), float(judged.limit[row])
    duty = float(solved.assembly.stage.duty[row]) if rating.code == "part_power" else 1.0
    mean = "" if duty == 1.0 else f" averaged over a duty of {duty:g}"
    case = " with the antenna off" if rating.case == "while_tuning" else ""
    used = float(judged.used[row])
    return Text(
        f"{label(name)}: {shown(rating, value)}{mean} at {at(solved, row)}{case}, rated {shown(rating, limit)}"
        f"{gap_words(solved, judged, row)} ({percent(used)})",
        _why(solved, name, rating, row),
    )


def not_rated(solved: Solved, unrated: NotRated) -> Text:
    """Tell that a part has no rating, and the highest value found."""
    name, rating = unrated.check.part, RATING_OF[unrated.check.code]
    row = unrated.worst
    extra = ""
    if rating.code == "part_voltage":
        off = solved.stress[name].unloaded_voltage_peak[unrated.applies].max()
        extra = f", up to {shown(rating, off)} with the antenna off"
    return Text(
        f"{label(name)}: no {label(rating.key)} in the file, so not judged",
        f"highest value found: {shown(rating, unrated.value[row])} at {at(solved, row)}{extra}",
        f'add {rating.key} = "..." under [network.{name}], from the maker\'s data or a measurement',
    )


def _why(solved: Solved, name: str, rating: Rating, row: int) -> str:
    """Give the formula and the numbers behind one value."""
    stress, parts = solved.stress[name], solved.assembly.parts
    supply = written(solved.assembly.stage.supply_voltage[row], "V")
    value = written(rating.values(stress)[row], rating.unit)
    direct = stress.voltage_peak[row] > stress.rf_voltage_peak[row]
    if name == "band_switch" and solved.is_wound(row):
        what = (
            "the hardest worked contact: at the tap the coil's current less that of the shorted turns, between two "
            "loops their difference, at a padding the padding's"
            if rating.code == "part_current"
            else "from the tap in use to the contact, or free end, with the highest voltage against it"
        )
        return f"{what}: {value} {rating.amplitude}"
    match rating.code:
        case "part_voltage":
            if direct:
                rf = written(stress.rf_voltage_peak[row], "V")
                return (
                    f"max |V_dc + v(t)|: supply {supply}, RF {rf} pk, together {value} pk over orders 1 to 10"
                )
            return f"highest voltage in one period, orders 1 to 10 added up with their phases: max |v(t)| = {value} pk"
        case "part_unloaded_voltage" if solved.tube_state is not None:
            return (
                f"antenna off, tune capacitor dipped within its range, supply {supply} without load, drive unchanged: "
                "the tube's own steady state there, in which the plate may swing below the cathode, by more than the "
                f"supply: {value} pk{', DC included' if direct else ''}"
            )
        case "part_unloaded_voltage":
            return (
                f"antenna off, tune capacitor dipped within its range, plate swing the smaller of supply ({supply}) "
                "and I_1 |Z_P|: "
                f"{value} pk{', DC included' if direct else ''}"
            )
        case "part_current":
            mean = " and the DC plate current" if name in ("plate_choke", "suppressor") else ""
            return f"currents of orders 1 to 10{mean} together: sqrt(sum of I_n^2 / 2) = {value} rms"
        case "part_power" if name == "suppressor":
            inductance = written(float(parts.suppressor_inductance), "H")
            resistance = written(float(parts.suppressor_resistance), "ohm")
            return (
                f"heat in the resistor from the voltages of orders 1 to 10 across {inductance} and {resistance}: "
                f"sum of V_n^2 / (2 R) = {value}; it grows as f^4 L^2"
            )
        case "part_power":
            current = written(stress.current_rms[row], "A")
            return (
                f"heat of {current} rms in the winding: I^2 R, R = 2 pi f L / q growing as sqrt(n), = {value}"
            )
    return f"current squared times reactance, orders 1 to 10 added up: sum of I_n^2 / (4 pi n f C) = {value}"


def tuning_voltage(solved: Solved, judged: Judged, row: int) -> Text:
    """Tell the highest voltage of a part on the way to the match."""
    name = judged.check.part
    worst = next(meters for meters in solved.meters if meters.row == row).peaks[name]
    value, limit = float(judged.value[row]), float(judged.limit[row])
    return Text(
        f"{label(name)}: {written(value, 'V')} pk at {at(solved, row)} while tuning "
        f"({SITUATIONS[worst.situation]}), rated {written(limit, 'V')} pk ({percent(value / limit)})",
        f"highest of the tube's steady states over both settings and with the antenna gone, drive unchanged: "
        f"tune {written(worst.tune, 'F')}, load {written(worst.load, 'F')}; "
        f"DC counted as {written(solved.assembly.stage.supply_voltage[row], 'V')} where it stands across the part",
    )
