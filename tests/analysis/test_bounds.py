"""What an analysis keeps and solves at a time, whatever the file asks for."""

import numpy as np
import pytest
from samples import amplifier_from, edited

from netsim.analysis import analyse
from netsim.analysis.uncertainty import sampling
from netsim.analysis.uncertainty.antennas import sample_antennas
from netsim.analysis.uncertainty.sampling import draw, sample
from netsim.analysis.uncertainty.summary import summary, summed
from netsim.circuit.assembly import assemble
from netsim.circuit.elements import Termination
from netsim.errors import UsageError
from netsim.verdict import any_antenna

LIMITED = (
    ('stray = "8 pF"', 'stray = "8 +- 3 pF"'),
    ('plate_current = "520 mA"', 'plate_current = "520 mA +- 5 %"'),
)


def test_antennas_are_asked_for_some_networks_at_a_time_and_little_is_kept(plain, tmp_path, monkeypatch):
    """576 antennas of 1,000 networks are 576,000 rows: 100 bytes of each are 60 MB."""
    assembly = assemble(amplifier_from(plain.read_text(), tmp_path))
    loads = 36
    monkeypatch.setattr(any_antenna, "_MOST", 2 * loads)
    asked = []

    def termination(rows):
        asked.append(len(rows))
        impedance = np.linspace(30, 80, loads).astype(complex)
        return Termination(np.tile(impedance, len(rows))[:, np.newaxis], np.full(loads * len(rows), 50.0))

    def drawn(impedance, owner):
        return assembly.stage.take(owner).plate_current(impedance[:, 0])

    found = any_antenna.on_all_loads(assembly, termination, loads, 2.0, drawn)
    assert max(asked) == 2
    assert sum(asked) == len(assembly)
    arrays = [value for value in vars(found).values() if isinstance(value, np.ndarray)]
    kept = sum(array.nbytes for array in arrays if array.shape[:2] == (len(assembly), loads))
    assert kept <= 100 * len(assembly) * loads


@pytest.fixture
def limited(plain, tmp_path):
    return amplifier_from(edited(plain, *LIMITED), tmp_path)


def test_pieces_of_any_size_give_the_same(limited, monkeypatch):
    """Cross-check: bands sampled apart, put together in small pieces, against all of them in one go."""
    assembly, draws = assemble(limited), draw(limited, 64)
    (whole,) = sample(limited, assembly, draws)
    put_together = []

    def counted(*args, **kwargs):
        put_together.append(assemble(*args, **kwargs))
        return put_together[-1]

    monkeypatch.setattr(sampling, "assemble", counted)
    monkeypatch.setattr(sampling, "_KEPT", 64)
    monkeypatch.setattr(sampling, "_ASSEMBLED", 32)
    monkeypatch.setattr(sampling, "_ROWS", 16)
    parts = list(sample(limited, assembly, draws))
    assert len(parts) == len(limited.description.bands)
    assert max(map(len, put_together)) <= 32
    apart = {place: used for part in parts for place, used in part.used.items()}
    assert apart.keys() == whole.used.keys()
    for place, used in whole.used.items():
        np.testing.assert_allclose(apart[place], used, rtol=1e-9)
    one, other = (summary(draws, len(assembly), [summed(p) for p in some]) for some in ([whole], parts))
    assert one.known == other.known
    for name, watts in one.losses.items():
        np.testing.assert_allclose(other.losses[name], watts[:, : other.losses[name].shape[1]], rtol=1e-9)


def test_pieces_of_any_size_give_the_same_on_other_antennas(limited, monkeypatch):
    solved = analyse(limited, engine="two-port", samples=1, swr=2.0).solved
    draws = draw(limited, 64)
    whole = sample_antennas(limited, solved, draws)
    monkeypatch.setattr("netsim.analysis.uncertainty.antennas._ASSEMBLED", 24)
    apart = sample_antennas(limited, solved, draws)
    assert whole.used
    assert apart.used.keys() == whole.used.keys()
    for place, used in whole.used.items():
        np.testing.assert_allclose(apart.used[place], used, rtol=1e-9)


def test_used_fractions_are_kept_only_of_what_is_unsure(limited):
    result = analyse(limited, engine="two-port", samples=64)
    for spread in result.spreads.findings.values():
        assert (spread.used is not None) == (0.025 < spread.share_over < 0.975)


def test_samples_are_bounded_by_the_networks_they_ask_for(limited):
    networks = len(assemble(limited))
    with pytest.raises(UsageError, match=rf"1 to {2**19 // networks} samples .* {networks} networks"):
        analyse(limited, engine="two-port", samples=2**19 // networks + 1)
