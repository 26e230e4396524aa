"""All findings of several amplifiers, worked out again from the points of the result and the file's ratings.

Derived: codes, states, fractions and the worst frequency by their definitions, written a second time here.
"""

import math
import re
from collections import Counter

import pytest
from samples import amplifier_from, edited, judged

from netsim.analysis import analyse
from netsim.description.reader import read

CAPACITORS = ("blocking_capacitor", "tune_capacitor", "tune_padding", "load_capacitor", "load_padding")
RATINGS = {
    "voltage_rating": [
        ("part_voltage", "voltage_peak_volt"),
        ("part_unloaded_voltage", "unloaded_voltage_peak_volt"),
    ],
    "current_rating": [("part_current", "current_rms_ampere")],
    "power_rating": [("part_power", "loss_watt")],
    "reactive_power_rating": [("part_reactive_power", "reactive_power_volt_ampere")],
}
HAS = {
    "suppressor": ("power_rating",),
    "plate_choke": ("current_rating",),
    "output_choke": ("current_rating",),
    "coil": ("current_rating", "power_rating"),
    "output_coil": ("current_rating", "power_rating"),
    "band_switch": ("current_rating", "voltage_rating"),
} | dict.fromkeys(CAPACITORS, ("voltage_rating", "current_rating", "reactive_power_rating"))


CODES = {code for ratings in RATINGS.values() for code, _ in ratings} | {
    "plate_dissipation", "loaded_q", "harmonic_level", "plate_match", "tuning_range",
    "antenna_dc", "output_choke", "choke_reactance", "choke_resonance",
}  # fmt: skip


# Into the antenna as described; other antennas have cases of their own.
CASES = ("matched", "while_tuning")


def state(used, close):
    if used is None or used > 1:
        return "over"
    return "close" if used > close else "pass"


def window(value, low, high):
    return max(value / high, low / value) if value is not None and value > 0 else None


def worst_of(points, used):
    """Point with the highest fraction, absent ones first."""
    place = max(range(len(points)), key=lambda k: math.inf if used[k] is None else used[k])
    return points[place], used[place]


def expected(description, verdict):  # noqa: C901
    """Yield code, part, quantity, band, state, used fraction, frequency, value, limit."""
    network, limits = description.network, description.limits
    close = limits.close_to_rating
    load = verdict.stage.plate_load_ohm

    def judged(code, part, quantity, band, values, limit, fractions, near=close, order=None):
        point, used = worst_of(band.points, fractions)
        value = values[band.points.index(point)]
        found = state(used, near)
        found = "close" if found == "over" and code == "choke_reactance" else found
        return (code, part, quantity, band.name, found, used, point.frequency_hertz, value, limit)

    for part, ratings in HAS.items():
        model = getattr(network, part)
        for rating in ratings:
            limit = getattr(model, rating, None)
            there = [p for b in verdict.bands for p in b.points if p.parts[part] is not None]
            if not there:
                continue
            for code, key in RATINGS[rating]:
                quantity = key.rpartition("_")[0] if "volt_" not in key else "reactive_power"
                if limit is None:
                    if code != "part_unloaded_voltage":
                        yield (code, part, quantity, None, "not_rated", None, None, None, None)
                    continue
                for band in verdict.bands:
                    if band.points[0].parts[part] is not None:
                        values = [getattr(p.parts[part], key) for p in band.points]
                        yield judged(code, part, quantity, band, values, limit, [v / limit for v in values])
    rating = description.stage.dissipation_rating
    for index, band in enumerate(verdict.bands):
        points = band.points
        low, high = limits.loaded_q
        qs = [p.loaded_q for p in points]
        worst_q, _ = worst_of(points, [window(q, low, high) for q in qs])
        nearer = low if worst_q.loaded_q < math.sqrt(low * high) else high
        yield judged("loaded_q", "network", "loaded_q", band, qs, nearer, [window(q, low, high) for q in qs])
        levels = [
            max((h.level_dbc for h in p.harmonics if h.level_dbc is not None), default=-math.inf)
            for p in points
        ]
        used = [10 ** ((v - limits.harmonic_level) / 20) for v in levels]
        values = [v if math.isfinite(v) else None for v in levels]
        yield judged(
            "harmonic_level", "network", "level", band, values, limits.harmonic_level, used, 10 ** (-3 / 20)
        )
        reflections = [
            abs((complex(*p.plate_impedance_ohm) - load) / (complex(*p.plate_impedance_ohm) + load))
            for p in points
        ]
        swrs = [(1 + g) / (1 - g) for g in reflections]
        yield judged("plate_match", "network", "swr", band, swrs, 1.5, [(s - 1) / 0.5 for s in swrs])
        if rating is not None:
            heat = [p.plate_dissipation_watt for p in points]
            yield judged(
                "plate_dissipation",
                "stage",
                "plate_dissipation",
                band,
                heat,
                rating,
                [h / rating for h in heat],
            )
        for quantity in ("tune", "load"):
            part = getattr(network, f"{quantity}_capacitor")
            needed = [getattr(p, f"{quantity}_needed_farad") for p in points]
            used = [window(n, part.minimum, part.maximum) for n in needed]
            if None not in needed and min(needed) <= 0:  # the lowest of what has no fraction
                used = [None if n == min(needed) else 0.0 for n in needed]
            value = needed[points.index(worst_of(points, used)[0])]
            stop = (
                part.minimum
                if value is None or value < math.sqrt(part.minimum * part.maximum)
                else part.maximum
            )
            yield judged("tuning_range", f"{quantity}_capacitor", quantity, band, needed, stop, used)
        frequencies = description.bands[index].frequencies
        choke = network.plate_choke
        if choke is not None:
            # Derived: an inductance with a capacitance across it, 1 / (1 / wL - wC), of either sign.
            across = choke.self_capacitance or 0.0
            omegas = [2 * math.pi * f for f in frequencies]
            reactances = [abs(1 / (1 / (w * choke.inductance) - w * across)) for w in omegas]
            yield judged(
                "choke_reactance", "plate_choke", "reactance", band, reactances, load,
                [load / x for x in reactances],
            )  # fmt: skip
            if choke.series_resonances:
                inside = any(
                    0.97 * min(frequencies) <= r <= 1.03 * max(frequencies) for r in choke.series_resonances
                )
                near = any(
                    0.9 * min(frequencies) <= r <= 1.1 * max(frequencies) for r in choke.series_resonances
                )
                verdict = "over" if inside else "close" if near else "pass"
                yield ("choke_resonance", "plate_choke", "resonance", band.name, verdict, None, ..., ..., ...)
        if network.blocking_capacitor is None:
            yield ("antenna_dc", "network", "dc_voltage", band.name, "over", None, ..., ..., 0.0)
    if rating is None:
        yield ("plate_dissipation", "stage", "plate_dissipation", None, "not_rated", None, None, None, None)
    if network.output_choke is None:
        yield ("output_choke", "network", "presence", None, "not_rated", None, None, None, None)
    if network.plate_choke is not None and not network.plate_choke.series_resonances:
        yield ("choke_resonance", "plate_choke", "resonance", None, "not_rated", None, None, None, None)


def without(text: str, *tables: str) -> str:
    kept, skipping = [], False
    for line in text.splitlines():
        if line.startswith("["):
            skipping = line in {f"[network.{name}]" for name in tables}
        if not skipping:
            kept.append(line)
    return "\n".join(kept) + "\n"


def without_ratings(text: str) -> str:
    return "\n".join(line for line in text.splitlines() if "_rating" not in line or "close" in line) + "\n"


SCENARIOS = {
    "as it is": lambda text: text,
    "nothing rated": without_ratings,
    "no blocking capacitor, no chokes": lambda text: without(
        text, "blocking_capacitor", "plate_choke", "output_choke", "band_switch"
    ),
    "no suppressor": lambda text: without(text, "suppressor"),
    "tune capacitor too small": lambda text: text.replace('maximum = "250 pF"', 'maximum = "100 pF"'),
    "tune capacitor cannot go low": lambda text: text.replace('minimum = "15 pF"', 'minimum = "60 pF"'),
    "padding too large": lambda text: text.replace('tune_padding = "50 pF"', 'tune_padding = "900 pF"'),
    "coil far too large": lambda text: text.replace('coil = "5.8 uH"', 'coil = "58 uH"'),
    "class A": lambda text: text.replace('"195 deg"', '"360 deg"'),
    "choke resonates in the band": lambda text: text.replace('"24.6 MHz"', '"7.1 MHz", "15.7 MHz", "14.2 MHz"'),
    "choke resonance not known": lambda text: text.replace('series_resonances = ["24.6 MHz"]\n', ""),
    "small choke": lambda text: text.replace('inductance = "220 uH"', 'inductance = "30 uH"'),
    "narrow mark for close": lambda text: text.replace("close_to_rating = 0.9", "close_to_rating = 0.5"),
    "given settings": lambda text: text.replace('coil = "5.8 uH"', 'coil = "5.8 uH"\ntune = "95 pF"\nload = "300 pF"'),
    "loaded Q too low": lambda text: text.replace("loaded_q = [8, 20]", "loaded_q = [14, 20]"),
}  # fmt: skip


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_finding(name, plain, tmp_path):
    text = plain.read_text()
    changed = SCENARIOS[name](text)
    assert changed != text or name == "as it is"
    check(amplifier_from(changed, tmp_path))


@pytest.mark.parametrize("file", ["old-tubes.toml", "new-tube.toml", "new-tube-pi-l.toml"])
def test_every_finding_of_the_demonstration(file, circuits):
    check(read(circuits / file))


def check(amplifier):
    verdict = analyse(amplifier, engine="two-port", samples=1).verdict
    wanted = list(expected(amplifier.description, verdict))
    ours = {
        (f.code, f.part, f.quantity, f.band): f
        for f in verdict.findings
        if f.code in CODES and f.case in CASES
    }
    assert {entry[:4] for entry in wanted} == set(ours)
    for code, part, quantity, band, state, used, frequency, value, limit in wanted:
        found = ours[code, part, quantity, band]
        assert found.state == state, found
        assert found.case == ("while_tuning" if code == "part_unloaded_voltage" else "matched")
        # SWR at a match is rounding, and so is which frequency is the worst.
        idle = code == "plate_match" and used is not None and used < 1e-6
        for mine, theirs in ((used, found.used_fraction), (value, found.value), (limit, found.limit)):
            if mine is None:
                assert theirs is None, found
            elif mine is not ...:
                assert theirs == pytest.approx(mine, rel=1e-9, abs=1e-9 if idle else 0), found
        if frequency is not ... and not idle:
            assert found.frequency_hertz == frequency, found
        assert found.message
        assert found.why
        assert bool(found.fix) == (found.state == "not_rated"), found  # the advice brings the others'
        assert found.line >= 1
    keys = [(f.code, f.band, f.part, f.quantity, f.case) for f in verdict.findings]
    assert len(set(keys)) == len(keys)
    assert dict(Counter(f.state for f in verdict.findings)) == {k: v for k, v in verdict.counts.items() if v}
    states = [("over", "close", "not_rated", "pass").index(f.state) for f in verdict.findings]
    assert states == sorted(states)


def codes(text, folder, **wanted):
    found = analyse(amplifier_from(text, folder), engine="two-port", samples=1).verdict.findings
    return [f for f in found if f.case in CASES and all(getattr(f, k) == v for k, v in wanted.items())]


def test_worst_order_is_named(plain, tmp_path):
    (found,) = codes(edited(plain), tmp_path, code="harmonic_level", band="40 m")
    assert found.order == 2
    (found,) = codes(edited(plain, ("195 deg", "360 deg")), tmp_path, code="harmonic_level", band="40 m")
    assert (found.order, found.value, found.used_fraction, found.state) == (None, None, 0.0, "pass")


def test_second_match(plain, tmp_path):
    # Derived: just below the largest coil for this plate load both roots are in reach of wide capacitors.
    wide = [
        ('minimum = "30 pF"', 'minimum = "1 pF"'),
        ('minimum = "15 pF"', 'minimum = "1 pF"'),
        ('coil = "5.8 uH"', 'coil = "8.55 uH"'),
        ('stray = "10 pF"', 'stray = "1 pF"'),
    ]
    amplifier = amplifier_from(edited(plain, *wide), tmp_path)
    verdict = analyse(amplifier, engine="two-port", samples=1).verdict
    (found,) = [f for f in verdict.findings if f.code == "second_match"]
    assert (found.state, found.used_fraction, found.band) == ("close", None, "40 m")
    point = verdict.bands[1].points[1]
    assert found.frequency_hertz == point.frequency_hertz == 7.15e6
    assert point.tuned
    assert found.value < point.load_farad
    assert (point.tune_farad, point.load_farad) == (point.tune_needed_farad, point.load_needed_farad)


def test_negative_need_is_over_at_the_minimum(plain, tmp_path):
    text = edited(plain, ('tune_padding = "50 pF"', 'tune_padding = "900 pF"'))
    (found,) = codes(text, tmp_path, code="tuning_range", quantity="tune", band="80 m")
    assert (found.state, found.used_fraction) == ("over", None)
    assert found.value < 0
    assert found.limit == 15e-12


def test_no_match_has_no_setting(plain, tmp_path):
    text = edited(plain, ('coil = "5.8 uH"', 'coil = "58 uH"'))
    found = codes(text, tmp_path, code="tuning_range", band="40 m")
    assert [(f.state, f.value, f.used_fraction) for f in found] == [("over", None, None)] * 2
    # Applied: the coil named matches with capacitors of any range, one 2 % larger does not.
    named = float(re.search(r"largest that would match is ([0-9.]+) µH", found[0].why)[1])
    free = (('minimum = "15 pF"', 'minimum = "0.5 pF"'), ('maximum = "1500 pF"', 'maximum = "50 nF"'))
    for share, matches in ((0.99, True), (1.02, False)):
        text = edited(plain, ('coil = "5.8 uH"', f'coil = "{named * share:.4f} uH"'), *free)
        there = codes(text, tmp_path, code="tuning_range", band="40 m")
        assert all((f.value is not None) == matches for f in there)


def test_a_high_harmonic_tells_what_a_lead_would_do(plain, tmp_path):
    """Applied: the level with that lead in the file is the level told."""
    text = edited(plain, ('"14.05 MHz", "14.3 MHz"', '"28.5 MHz"'), ('coil = "2.9 uH"', 'coil = "1.4 uH"'))
    (before,) = codes(text, tmp_path, code="harmonic_level", band="20 m")
    moved = float(
        re.search(r"30.0 nH in the load capacitor's lead.*would move it by ([+-][0-9.]+) dB", before.why)[1]
    )
    with_lead = text.replace(
        "[network.load_capacitor]", '[network.load_capacitor]\nlead_inductance = "30 nH"'
    )
    point = next(b for b in judged(with_lead, tmp_path).verdict.bands if b.name == "20 m").points[0]
    after = point.harmonics[before.order - 2].level_dbc
    assert after - before.value == pytest.approx(moved, abs=0.3)
    (same,) = codes(with_lead, tmp_path, code="harmonic_level", band="20 m")
    assert "lead" not in same.why


def test_padding_of_one_band_is_judged_in_that_band_only(plain, tmp_path):
    found = codes(edited(plain), tmp_path, part="load_padding", code="part_voltage")
    assert [f.band for f in found] == ["80 m"]


def test_padding_without_a_table_is_not_rated(plain, tmp_path):
    text = without(plain.read_text(), "load_padding")
    found = codes(text, tmp_path, part="load_padding")
    assert {(f.code, f.state, f.band) for f in found} == {
        (code, "not_rated", None) for code in ("part_voltage", "part_current", "part_reactive_power")
    }


def test_findings_point_at_their_lines(plain, tmp_path):
    text = edited(plain)
    lines = text.splitlines()
    for found in codes(text, tmp_path):
        if found.code.startswith("part_") and found.state != "not_rated":
            assert "_rating" in lines[found.line - 1], found


def test_the_reason_of_the_plates_heat_adds_up(plain, tmp_path):
    """Conservation of energy: what is told of supply, drive and network makes the heat."""
    text = edited(plain, ('drive_voltage_peak = "0 V"', 'drive_voltage_peak = "90 V"'))
    (finding,) = [
        f
        for f in analyse(
            amplifier_from(text, tmp_path), engine="two-port", samples=1, band="80 m"
        ).verdict.findings
        if (f.code, f.case) == ("plate_dissipation", "matched")
    ]
    direct, drive, network = (
        float(number) * {"kW": 1e3, "W": 1.0}[unit]
        for number, unit in re.findall(r"([\d.]+) (kW|W)\b", finding.why.partition(": ")[2])
    )
    assert "s = 1:" in finding.why
    assert direct + drive - network == pytest.approx(finding.value, abs=0.006 * direct)
