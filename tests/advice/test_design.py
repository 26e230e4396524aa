import pytest

from netsim.advice.change import changed
from netsim.advice.design import design
from netsim.advice.loaded_q_design import least_loaded_q, middle_resistance
from netsim.advice.topology_change import as_topology
from netsim.description.reader import loads, read
from netsim.errors import DescriptionError, UsageError


@pytest.fixture(scope="module")
def bare(circuits):
    """Strip the demonstration amplifier of coils and paddings."""
    text = (circuits / "old-tubes.toml").read_text(encoding="utf-8")
    kept = [line for line in text.splitlines(True) if not line.startswith(("coil =", "load_padding ="))]
    return "".join(kept)


def test_it_fills_in_what_is_left_out_and_keeps_comments(bare):
    made = design(bare, "bare.toml", engine="two-port")
    description = loads(made.text, "made.toml").description
    assert all(band.coil for band in description.bands)
    assert "# both tubes and their sockets" in made.text
    assert [band.coil for band in made.bands] == [
        line.split('"')[1] for line in made.text.splitlines() if line.startswith("coil =")
    ]
    assert made.result.verdict.counts["over"] == 0
    # Derived: the settings want up to 1.7 nF in all, 1.3 nF are there and 0.9 of it counts as well inside:
    # 500 pF would leave 1.2 nF, 680 pF is the next of the stock.
    assert made.bands[0].load_padding == "680 pF"


def test_the_target_is_met_on_every_band(bare):
    made = design(bare, "bare.toml", engine="two-port")
    for band in made.bands:
        assert band.loaded_q == pytest.approx(12, rel=0.05)  # at a solved frequency near the band's middle
        solved = next(b for b in made.result.verdict.bands if b.name == band.name)
        assert {p.frequency_hertz: p.loaded_q for p in solved.points}[band.frequency_hertz] == band.loaded_q


def test_the_other_definition_gives_larger_coils(bare):
    def coils(definition):
        made = design(bare, "bare.toml", definition=definition, engine="two-port")
        return [band.coil for band in loads(made.text, "x").description.bands]

    assert all(b > a for a, b in zip(coils("loaded"), coils("stored-energy"), strict=True))


def test_a_coil_that_is_there_stays(bare):
    text = bare.replace('name = "20 m"\n', 'name = "20 m"\ncoil = "2.1 uH"\n')
    made = design(text, "bare.toml", engine="two-port")
    assert 'coil = "2.1 uH"' in made.text
    assert made.bands[3].coil is None


def test_a_complete_file_has_nothing_to_design(circuits):
    text = (circuits / "old-tubes.toml").read_text(encoding="utf-8")
    with pytest.raises(UsageError, match="leave out those that are to be designed") as caught:
        design(text, "x.toml", engine="two-port")
    assert caught.value.problems[0].code == "nothing_to_design"


def test_a_target_below_the_least_is_refused_with_that_number(bare):
    """Published: the least loaded Q is sqrt(R1/R2 - 1); here sqrt(1906/50 - 1) = 6.09."""
    with pytest.raises(UsageError, match=r"= 6\.09 at least; 5 was asked for"):
        design(bare, "x.toml", target=5, engine="two-port")


def test_other_mistakes_are_told_as_ever(bare):
    with pytest.raises(DescriptionError, match="plate_voltage"):
        design(bare.replace('plate_voltage = "2.0 kV"', ""), "x.toml", engine="two-port")


def test_least_loaded_q_and_middle_resistance():
    assert least_loaded_q(2000, 50) == pytest.approx(39**0.5)
    assert middle_resistance(2000, 50) == 300
    assert middle_resistance(800, 50) == pytest.approx(200)


def test_a_pi_becomes_a_pi_l(circuits):
    amplifier = read(circuits / "new-tube.toml")
    after = changed(amplifier, as_topology(amplifier, "pi-L")).description
    assert after.network.topology == "pi-L"
    assert all(band.output_coil and band.coil for band in after.bands)
    assert as_topology(amplifier, "pi") == ()
    with pytest.raises(UsageError, match="there is no topology 'T'"):
        as_topology(amplifier, "T")


def test_a_target_out_of_reach_is_said(circuits):
    amplifier = read(circuits / "new-tube.toml")
    text = amplifier.text
    head = text[: text.index("[[bands]]")]
    made = design(
        head + '[[bands]]\nname = "10 m"\nfrequencies = ["28.0 MHz", "29.7 MHz"]\n',
        "x.toml",
        engine="two-port",
    )
    assert "stand in the way" in made.bands[0].note
    assert made.bands[0].loaded_q > 20
