import pytest
from markupsafe import Markup
from report_cases import finding

from netsim.report.figures.schematic_notes import LINE, UNIT, Note, part_note, stage_note, written
from netsim.verdict.result import PartStress

STRESS = PartStress(2600.0, 2600.0, 3100.0, 11.8, 95.0)


def test_a_note_names_value_and_stress_with_pk_and_rms() -> None:
    note = part_note("tune_capacitor", "120 pF", STRESS, None, "+ 5.00 pF stray")
    assert note.lines == ("Tune capacitor", "120 pF", "+ 5.00 pF stray", "2.60 kV pk", "11.8 A rms")
    assert not note.marked


def test_a_note_gives_the_peak_with_direct_voltage() -> None:
    # Derived: a blocking capacitor holds 2.8 kV of the supply with 150 V of RF on it.
    stress = PartStress(2950.0, 150.0, 3100.0, 1.2, 0.5)
    assert "2.95 kV pk" in part_note("blocking_capacitor", "1 nF", stress, None).lines


@pytest.mark.parametrize(("state", "first"), [("over", "▲ over 110 %"), ("close", "◆ close 110 %")])
def test_what_fails_is_marked_with_mark_word_number_and_place(state: str, first: str) -> None:
    made = finding(state=state, case="any_antenna", operating_point="carrier")
    note = part_note("coil", "8 µH", STRESS, made)
    assert note.mark == (first, "heat", "at 7.1 MHz", "any antenna", "other operating point")
    assert note.state == state


def test_what_passes_or_has_no_fraction_is_told_as_it_is() -> None:
    assert part_note("coil", "8 µH", None, finding(state="pass")).mark == ()
    bare = finding(code="choke_resonance", used_fraction=None, frequency_hertz=None)
    assert stage_note("520 mA DC", bare).mark == ("▲ over", "series resonance")


def test_lines_are_set_below_each_other_and_escaped() -> None:
    text = written(1.0, 2.0, Note(("<Coil>", "8 µH", "2.60 kV pk"), "over", ("▲ over",)), "end")
    assert isinstance(text, Markup)
    assert "&lt;Coil&gt;" in text
    assert text.startswith('<g text-anchor="end">')
    assert [part.partition('"')[0] for part in text.split('class="')[1:]] == [
        "over",
        "name",
        "stress",
        "over",
    ]
    first, second = (int(part.partition('"')[0]) for part in text.split('y="')[1:3])
    assert first == round(-2.0 * UNIT + 4)
    assert second - first == pytest.approx(LINE * UNIT, abs=1)
