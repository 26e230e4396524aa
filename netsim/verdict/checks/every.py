"""All rules there are."""

from collections.abc import Callable, Iterator

from netsim.verdict.checks import antennas, box, chokes, coils, meters, network, parts, tube
from netsim.verdict.judged import Judged, NotRated
from netsim.verdict.solved import Solved

Rule = Callable[[Solved], Iterator[Judged | NotRated]]

BY_NETWORK: tuple[Rule, ...] = (
    parts.ratings,
    network.dissipation,
    network.loaded_q,
    network.harmonic_level,
    network.plate_match,
    network.tuning_range,
    network.second_match,
    chokes.choke_reactance,
    chokes.antenna_dc,
    chokes.output_choke,
    coils.self_resonance,
    coils.tube_wall,
    box.anode,
)
"""What is judged network by network, whatever the others are: all that a search of networks can ask."""

WHATEVER_THE_PLATE_CURRENT: tuple[Rule, ...] = (
    network.loaded_q,
    network.plate_match,
    network.tuning_range,
    chokes.choke_reactance,
    coils.self_resonance,
    coils.tube_wall,
)
"""What of it asks nothing but the network."""

BY_BAND: tuple[Rule, ...] = (chokes.choke_resonance, coils.temperature)
"""What needs the other networks of its band."""

WHERE_ASKED: tuple[Rule, ...] = (
    tube.disagreement,
    meters.tuning_voltage,
    meters.tuning_heat,
    meters.tuning_grid,
    antennas.ratings,
    antennas.dissipation,
    antennas.plate_match,
    antennas.harmonics,
)
"""What is judged only where the file asks for a tube or other antennas."""

OF_THE_BOX: tuple[Rule, ...] = (box.grid, box.drive, box.bias, box.supply, box.meters)
"""What is judged of the box around the network, where the file has a table of it."""

WHOLE_BOX: tuple[Rule, ...] = (box.anode, *OF_THE_BOX)

ALL = BY_NETWORK + BY_BAND + WHERE_ASKED + OF_THE_BOX


def checks(solved: Solved, rules: tuple[Rule, ...] = ALL) -> Iterator[Judged | NotRated]:
    """Hold all networks against every limit.

    Parameters
    ----------
    solved : Solved
        Of ``networks`` networks; what of other antennas and the tube it does not hold is not judged.
    rules : tuple of callable
        Which of the rules.

    Yields
    ------
    Judged or NotRated
        One for each limit that the file gives, and for each that it leaves out.
    """
    for rule in rules:
        yield from rule(solved)
