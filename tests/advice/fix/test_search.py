"""The search against brute force: every combination written out and judged by the plain verdict."""

import itertools

import pytest
from samples import described_otherwise

from netsim.advice.band_changes import Choices, paddings, variants
from netsim.advice.change import WEIGHTS, Change, applied, edits_of, quantity_edit
from netsim.advice.fix.search import MOST_NETWORKS, Search, stages
from netsim.analysis import analyse
from netsim.description.reader import loads

RATED = ("suppressor", "tune_capacitor", "coil")
RATING_KEYS = ("voltage_rating", "current_rating", "power_rating", "reactive_power_rating")


def short(circuits, bands, **stage):
    """Plain refitted amplifier with some of its bands."""
    text = (circuits.parent / "tests" / "examples" / "refitted.toml").read_text(encoding="utf-8")
    head, *tables = text.split("[[bands]]")
    kept = [table for table in tables if any(f'"{name}"' in table for name in bands)]
    for key, value in stage.items():
        lines = [f'{key} = "{value}"' if line.startswith(f"{key} =") else line for line in head.splitlines()]
        head = "\n".join(lines) + "\n"
    return loads(head + "".join(f"[[bands]]{table}" for table in kept), "short.toml")


def reach(side, minimum, maximum):
    name = f"{side}_capacitor"
    edits = (
        quantity_edit(("network", name, "minimum"), minimum, "F"),
        quantity_edit(("network", name, "maximum"), maximum, "F"),
    )
    return Change("part", f"network.{name}", None, f"another {name}", edits)


def suppressor(inductance):
    edit = quantity_edit(("network", "suppressor", "inductance"), inductance, "H")
    return Change("part", "network.suppressor", None, f"suppressor {edit.text}", (edit,))


def unrated(description, parts):
    """Give parts four times their ratings over 0.9: as far as a search lets them go."""
    for part in parts:
        model = getattr(description.network, part)
        if model is None:
            continue
        raised = {k: 4 * 0.9 * getattr(model, k) for k in RATING_KEYS if getattr(model, k, None)}
        network = description.network.model_copy(update={part: model.model_copy(update=raised)})
        description = description.model_copy(update={"network": network})
    return description


def brute_force(amplifier, choices, groups):
    """Least (over, weight) of every combination, each judged by a study with the two-port solver."""
    base = amplifier.description
    band_options = []
    for choice in choices:
        options = []
        sides = [[side.change(n) for n in range(len(side.values))] for side in (choice.tune, choice.load)]
        for variant, tune, load in itertools.product(choice.variants, *sides):
            changes = [*variant.changes, *(c for c in (tune, load) if c is not None)]
            options.append((changes, sum(c.weight for c in changes)))
        band_options.append(options)
    part_options = [[None, *group] for group in groups]
    best = None
    for chosen in itertools.product(*part_options):
        replacements = [r for r in chosen if r is not None]
        edits = edits_of(replacements)
        named = {r.part for r in replacements if r.part}
        for size in range(len(RATED) + 1):
            for parts in itertools.combinations([p for p in RATED if p not in named], size):
                parts_weight = sum(r.weight for r in replacements) + WEIGHTS["part"] * len(parts)
                if best is not None and best[0] == 0 and parts_weight > best[1]:
                    continue
                description = unrated(applied(base, edits), {*parts, *named})
                # Bands do not touch each other, so the sum over bands is the whole amplifier; each band is
                # nevertheless judged by the plain verdict, one combination at a time.
                total = [0, parts_weight]
                for n, options in enumerate(band_options):
                    found = min(
                        (*judged(amplifier, description, n, changes), weight) for changes, weight in options
                    )
                    total[0] += found[0]
                    total[1] += found[1]
                if best is None or tuple(total) < best:
                    best = tuple(total)
    return best


_known = {}


def judged(amplifier, description, index, changes):
    changed = applied(description, edits_of(changes))
    alone = changed.model_copy(update={"bands": (changed.bands[index],)})
    key = alone.model_dump_json()
    if key not in _known:
        verdict = analyse(described_otherwise(amplifier, alone), engine="two-port", samples=1).verdict
        _known[key] = (verdict.counts["over"],)
    return _known[key]


def few(amplifier, coils, stocks):
    description = amplifier.description
    return [
        Choices(
            n,
            variants(description, n, {"coil": None, "output_coil": None}, coils=coils[n]),
            paddings(description, n, "tune", stocks[0]),
            paddings(description, n, "load", stocks[1]),
        )
        for n in range(len(description.bands))
    ]


CASES = {
    "tap and part": (["40 m"], {}, [[4.5e-6, 6.1e-6]], ((), (100e-12,))),
    "padding wanted": (["80 m"], {}, [[9e-6, 11.5e-6]], ((), (220e-12, 680e-12))),
    "no remedy at hand": (["10 m"], {}, [[1.0e-6, 1.3e-6]], ((10e-12,), ())),
    "two bands, one part": (["40 m", "15 m"], {}, [[6.1e-6], [1.9e-6]], ((), ())),
    "less power": (["40 m"], {"plate_current": "400 mA"}, [[4.5e-6, 6.1e-6]], ((), (100e-12,))),
}


@pytest.mark.parametrize(
    "case", [pytest.param(case, marks=[pytest.mark.slow] * (case == "no remedy at hand")) for case in CASES]
)
def test_the_search_finds_what_brute_force_finds(circuits, case):
    """Cross-check: no combination is better than the one found; brute force knows no shortcut."""
    bands, stage, coils, stocks = CASES[case]
    amplifier = short(circuits, bands, **stage)
    choices = few(amplifier, coils, stocks)
    groups = [[reach("tune", 3e-12, 640e-12)], [suppressor(22e-9)]]
    found = Search(amplifier, choices, groups).advance(MOST_NETWORKS)
    over, weight = brute_force(amplifier, choices, groups)
    assert (found.key[0] == 0) == (over == 0)
    if over == 0:
        assert found.key[:2] == (over, weight)
    else:
        assert found.key[0] == over


def test_no_better_than_the_bound_gives_nothing(circuits):
    amplifier = short(circuits, ["40 m"])
    choices = few(amplifier, [[6.1e-6]], ((), ()))
    assert Search(amplifier, choices, []).advance(MOST_NETWORKS, (0, 0)) is None


def test_every_stage_goes_on_where_the_one_before_ended(circuits):
    """Derived: what is found in few networks is still at hand when there are more."""
    amplifier = short(circuits, ["40 m", "10 m"])
    choices = few(amplifier, [[4.5e-6, 6.1e-6], [0.6e-6, 0.7e-6]], ((), (100e-12,)))
    groups = [[reach("tune", 3e-12, 640e-12)], [suppressor(22e-9)]]
    step, whole = Search(amplifier, choices, groups), Search(amplifier, choices, groups)
    keys = [step.advance(limit).key for limit in (1, 700, 3000, MOST_NETWORKS)]
    assert keys == sorted(keys, reverse=True)
    assert keys[0] > keys[-1]
    assert keys[-1] == whole.advance(MOST_NETWORKS).key
    assert step.spent == whole.spent


def test_a_larger_budget_goes_through_the_stages_of_the_smaller_ones():
    every = [list(stages(budget)) for budget in (1, 1000, MOST_NETWORKS - 1, MOST_NETWORKS, 10**7)]
    for some, more in itertools.pairwise(every):
        assert more[: len(some)] == some
    assert every[0] == every[3] == [MOST_NETWORKS]
    assert len(every[4]) > 1
