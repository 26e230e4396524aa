"""The whole report as one HTML page: no network, whole without its script, the same bytes every time."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from markupsafe import Markup

from netsim.analysis import Analysis
from netsim.description.formatting import NOTHING, format_quantity
from netsim.report.code_reference import code_reference
from netsim.report.export.page_record import dump, record_of
from netsim.report.figures.smith import smith_grid
from netsim.report.finding_groups import by_part, grouped, groups
from netsim.report.known_words import measure_words, sampled_words
from netsim.report.notation import doubts
from netsim.report.page.band_section import band_sections, drawn_rows
from netsim.report.page.bench.bench_card import bench_card
from netsim.report.page.bench.loss_tables import losses
from netsim.report.page.bench.readings_section import readings_section
from netsim.report.page.box.box_section import box_section
from netsim.report.page.cards import Origins, cards, passing, told_of
from netsim.report.page.change_section import change_section, finding_changes
from netsim.report.page.downloads import downloads, file_name
from netsim.report.page.headline import headline
from netsim.report.page.setting_panel import setting_panels
from netsim.report.page.taps_section import taps_section
from netsim.report.page.templating import environment, finished, script, style
from netsim.report.page.tuning_ranges import tuning_ranges
from netsim.report.page.unknowns import assumed, not_rated
from netsim.report.page.used_fractions import matrix
from netsim.verdict.solved import beyond_the_pulse

if TYPE_CHECKING:
    from netsim.advice.bench.bench import Bench
    from netsim.advice.coverage import CoverageMaps
    from netsim.advice.fit.fit import Fit
    from netsim.advice.fix.attribution import ExplainedFix
    from netsim.advice.taps.tap_advice import TapsAdvice


_WANTED = ("plate current", "fundamental", "DC input", "plate power")
"""What follows from [stage] and not from a tube that the file gives."""


def render(
    result: Analysis,
    taps: "TapsAdvice | None" = None,
    fix: "ExplainedFix | None" = None,
    coverage: "Sequence[CoverageMaps]" = (),
    bench: "Bench | None" = None,
    fit: "Fit | None" = None,
) -> str:
    """Render the report of a solved amplifier, with what advice on the same file adds to it.

    Taps add a section; a fix one, and to each finding what becomes of it; coverage figures of its bands; a bench the
    cold test and, where there are readings, a section; a fit more of that.

    The page is one self-contained HTML document. Everything the user wrote is escaped; the file appears by its name
    alone; nothing depends on the time or place of rendering.
    """
    verdict = result.verdict
    changes, origins = finding_changes(verdict, fix), Origins(result)
    judged, box = groups(verdict, ("over", "close")), box_section(result)
    over, close = (told_of(judged, state) for state in ("over", "close"))
    codes = dict.fromkeys(finding.code for finding in verdict.findings)
    return finished(
        environment()
        .get_template("page.html.j2")
        .render(
            record=Markup(dump(record_of(verdict, file_name(result.amplifier.path), result.swr))),
            models=setting_panels(result, drawn_rows(result)),
            script=script("ladder", "knobs"),
            style=style("tube_and_antenna") if box or beyond_the_pulse(result.solved) else style(),
            title=verdict.title,
            file_name=file_name(result.amplifier.path),
            verdict=verdict,
            stage=_stage_facts(result),
            headline=headline(result, by_part(over)),
            doubts=doubts(verdict),
            failing=cards(over, origins, changes),
            close=cards(close, origins, changes),
            change=change_section(fix),
            passing=passing(verdict, origins),
            rules={code: code_reference()[code] for code in codes},
            measure=measure_words(verdict),
            unsure_count=sum(finding.unsure for finding in verdict.findings),
            sampled=sampled_words(verdict.known),
            unsure_passes=cards(
                grouped((i, f) for i, f in enumerate(verdict.findings) if f.state == "pass" and f.unsure),
                origins,
            ),
            matrix=matrix(verdict),
            not_rated=not_rated(verdict),
            assumed=assumed(verdict),
            bench=bench_card(result, () if bench is None else bench.cold_match),
            readings=None if bench is None else readings_section(bench.readings, fit),
            losses=losses(verdict.bands, () if bench is None else bench.points_to),
            taps=taps_section(result, taps),
            smith_grid=smith_grid(),
            bands=band_sections(result, coverage),
            reach=tuning_ranges(result),
            box=box,
            limits=result.amplifier.description.limits,
            agreement=tuple(_agreement(result)),
            # Split where positions in it are counted: at line feeds alone.
            lines=result.amplifier.text.replace("\r\n", "\n").removesuffix("\n").split("\n"),
            downloads=downloads(result),
        )
    )


def _stage_facts(result: Analysis) -> tuple[tuple[str, str], ...]:
    """Give what the tube was told to do, in a line of figures."""
    verdict = result.verdict
    given, nominal = result.amplifier.description.stage, verdict.stage
    antenna = result.amplifier.description.antenna
    facts = [
        ("plate voltage", f"{format_quantity(given.plate_voltage, 'V')} DC"),
        ("plate current", f"{format_quantity(given.plate_current, 'A')} DC"),
        ("plate load", format_quantity(nominal.plate_load_ohm, "ohm")),
        ("fundamental", f"{format_quantity(nominal.fundamental_current_ampere_peak, 'A')} pk"),
        ("DC input", format_quantity(nominal.dc_input_watt, "W")),
        ("plate power", format_quantity(nominal.plate_power_watt, "W")),
        ("antenna", format_quantity(antenna.resistance, "ohm")),
    ]
    if verdict.judged_on == "tube":
        facts = [(f"{name} wanted" if name in _WANTED else name, value) for name, value in facts]
    if result.swr is not None:
        facts.append(("antennas up to", f"SWR {result.swr:g}, asked for with --swr"))
    return tuple(facts)


def _agreement(result: Analysis) -> Iterator[tuple[str, str, str | None]]:
    """Tell of each band how far the solvers are apart, and on its worst antenna; None where that was not solved."""
    solved = result.solved
    checked = [
        (solved.description.bands[int(solved.assembly.band_index[network])].name, apart)
        for network, _, apart in (() if solved.any_antenna is None else solved.any_antenna.checked)
    ]
    for band in result.verdict.bands:
        apart = [a for point in band.points if (a := point.agreement.worst_relative) is not None]
        antenna = next((other for name, other in checked if name == band.name), None)
        worst = f"{max(apart):.1e}" if apart else NOTHING
        yield band.name, worst, None if antenna is None else f"{antenna:.1e}"
