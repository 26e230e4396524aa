"""Every single change of an amplifier that may mend a finding, solved: first all in numpy, then the chosen in full."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from netsim.advice.band_changes import Choices, as_it_stands, choices_of
from netsim.advice.band_networks import BandNetworks, Picks, as_they_stand, grouped
from netsim.advice.change import Change, Edit, applied, keeps_the_rules, with_contacts
from netsim.advice.outcome import (
    CLOSE,
    NUMBER_OF,
    OVER,
    Difference,
    Outcome,
    check_of,
    difference,
    outcome_of,
)
from netsim.advice.preferred_values import rounded
from netsim.advice.remedy_candidates import (
    OpenFinding,
    band_picks,
    nearest_picks,
    open_findings,
    padding_window,
    part_candidates,
    range_candidates,
)
from netsim.advice.topology_change import topology_change
from netsim.analysis import Analysis
from netsim.analysis.analysis import asks_for_more
from netsim.analysis.networks import settings_together
from netsim.errors import DescriptionError
from netsim.verdict.checks.every import ALL

MOST_NETWORKS = 600
"""Networks that are solved in full to prove remedies."""

_MOST_NARROWINGS, _NARROWER = 6, 0.01
_OF_PARTS_ALONE = ("antenna_dc", "choke_reactance", "choke_resonance", "tube_wall")
"""What nothing that is done to a band changes."""


_ONLY_FOR = {"output": ("plate_dissipation",), "topology": ("harmonic_level",)}
"""What asks too much to be done for anything else."""


@dataclass(frozen=True)
class Tried:
    """A change, what comes of it, and on which bands: positions in the file, by column.

    `exact` tells whether it was solved with everything that a check prints.
    """

    change: Change
    difference: Difference
    bands: tuple[int, ...]
    exact: bool = False

    def after(self, one: OpenFinding) -> tuple[int, float | None]:
        """Return state and used fraction of a finding with the change."""
        after = self.difference.after
        if one.band not in self.bands:
            return NUMBER_OF[one.finding.state], one.finding.used_fraction
        place, column = after.index.get(check_of(one.finding)), self.bands.index(one.band)
        if place is None:
            return NUMBER_OF["not_rated"], None
        used = float(after.used[place, one.point, column])
        return int(after.state[place, one.point, column]), used if np.isfinite(used) else None

    def helps(self, one: OpenFinding) -> bool:
        """Tell whether the change clears a finding without doing as much harm elsewhere, or ending a match."""
        had, found = NUMBER_OF[one.finding.state], self.difference
        only = _ONLY_FOR.get(self.change.kind, one.finding.code)
        if self.after(one)[0] >= had or found.untuned or one.finding.code not in only:
            return False
        if not self.exact and check_of(one.finding) not in found.after.index:
            return not found.new_over  # it is seen when the change is proven
        return found.new_over < found.cleared if had == OVER else not found.new_over

    def rank(self, one: OpenFinding) -> tuple[int, ...]:
        """Return what makes it worse than other changes for a finding, the most important first.

        Whether the finding stays close, output is given up; how much becomes over; whether the band stays untuned;
        how much else gets worse; what it takes.
        """
        found = self.difference
        state = max(self.after(one)[0], NUMBER_OF["pass"])
        column = self.bands.index(one.band)
        untuned = not found.after.tuned[one.point, column].all()
        given_up = self.change.kind == "output"
        return state, given_up, found.new_over, untuned, found.harm, self.change.weight


def is_rating(changes: "SingleChanges", one: OpenFinding) -> bool:
    """Tell whether a finding's limit is a rating that another part could have higher."""
    place = changes.before.index.get(check_of(one.finding))
    return place is not None and changes.before.rating[place] is not None


class SingleChanges:
    """The single changes of a solved amplifier: of all its bands, or of some, which are then all there is.

    Its findings over and close are ``to_mend``.
    """

    def __init__(self, result: Analysis) -> None:
        self._amplifier, self._solved, self._swr = result.amplifier, result.solved, result.swr
        self._description = result.solved.description
        self._plate_load = float(result.solved.assembly.stage.plate_load[0])
        self._bands = sorted(set(self._solved.assembly.band_index.tolist()))
        self.to_mend = list(open_findings(self._solved, result.verdict.findings))

    @cached_property
    def before(self) -> Outcome:
        """The amplifier as it stands, by every check; a column for each band of the file."""
        return outcome_of(self._solved, ALL, len(self._description.bands))

    @cached_property
    def _wanting(self) -> list[OpenFinding]:
        """Findings that a change of the network may mend; on other antennas too much has to be solved for each."""
        return [one for one in self.to_mend if one.finding.case != "any_antenna"]

    @cached_property
    def _pools(self) -> list[tuple[BandNetworks, Picks, Outcome]]:
        wanting = {one.band for one in self._wanting if one.finding.code not in _OF_PARTS_ALONE}
        choices = choices_of(
            self._description, self._solved.assembly.wound, self._plate_load, sorted(wanting)
        )
        pools = []
        for networks in grouped(self._amplifier, self._description, choices) if choices else ():
            picks = band_picks(networks, self.before)
            if len(picks):
                pools.append((networks, picks, networks.outcome(picks)))
        return pools

    @cached_property
    def _of_parts(self) -> list[Tried]:
        changes = part_candidates(self._solved, self.before, self._wanting)
        return list(self._on_all(changes, exact=not asks_for_more(self._amplifier, self._swr)))

    @cached_property
    def _other_topology(self) -> list[Tried]:
        """The most that can be done, and the longest to work out: looked at where nothing else helps."""
        change = topology_change(self._amplifier)
        return [] if change is None else list(self._on_all([change], exact=False))

    def candidates(self, one: OpenFinding) -> Iterator[Tried]:
        """Yield the changes that clear a finding, not yet proven; of those to one place of a band the best."""
        if one.finding.case == "any_antenna":
            return
        found = [tried for pool in self._pools for tried in self._on_band(one, *pool)]
        found += [tried for tried in self._of_parts if tried.helps(one)]
        if one.finding.code == "harmonic_level" and not found:
            found = [tried for tried in self._other_topology if tried.helps(one)]
        yield from found

    def _on_band(
        self, one: OpenFinding, networks: BandNetworks, picks: Picks, outcome: Outcome
    ) -> Iterator[Tried]:
        columns = [choice.index for choice in networks.choices]
        if one.band not in columns:
            return
        own = np.flatnonzero(picks.band == columns.index(one.band))
        place = outcome.index.get(check_of(one.finding))
        # What no network decides is seen only when a change is proven.
        state = np.zeros(len(picks), dtype=np.intp) if place is None else outcome.state[place, one.point]
        good = own[state[own] < NUMBER_OF[one.finding.state]]
        keys = outcome.off_target, outcome.count(CLOSE), outcome.count(OVER), state
        seen: set[str] = set()
        for pick in good[np.lexsort([key[good] for key in keys])].tolist():
            (change,) = networks.changes(picks, pick)
            if change.place not in seen:
                found = difference(self.before, outcome.take([pick]), [one.band])
                tried = Tried(change, found, (one.band,))
                if place is None or tried.helps(one):
                    seen.add(change.place)
                    yield tried

    def window(self, one: OpenFinding, side: str) -> tuple[float, float] | None:
        """Return the least and the most padding [F] with which one capacitor reaches a band's match, rounded inwards.

        None if there is no such stretch. Both ends are matched before they are named: a padding of another Q than
        the variable part shifts the settings a little.
        """
        least, most = padding_window(self._description, self.before, one.band, side)
        for _ in range(_MOST_NARROWINGS):
            ends = rounded(max(least, 0.0), up=True), rounded(most, up=False)
            if not ends[0] < ends[1]:
                return None
            key = ("bands", one.band, f"{side}_padding")
            tried = [applied(self._description, [Edit(key, end or None, None)]) for end in ends]
            choices = [choice for some in tried for choice in as_it_stands(some, [one.band])]
            networks = BandNetworks(self._amplifier, self._description, choices, moving=())
            good = [bool(matched[0]) for matched in networks.matched(side)]
            if all(good):
                return ends
            width = _NARROWER * (most - least)
            least, most = least + width * (not good[0]), most - width * (not good[1])
        return None

    def on_antennas(self, one: OpenFinding) -> list[Tried]:
        """Solve the changes nearest to what is there on every antenna, for a finding of other antennas.

        Returns
        -------
        list of Tried
            A dozen or so, on the finding's band alone, the one that leaves it least used first.
        """
        choices = choices_of(self._description, self._solved.assembly.wound, self._plate_load, [one.band])
        networks = BandNetworks(self._amplifier, self._description, choices)
        picks = nearest_picks(networks, self.before)
        tried = []
        if len(picks):
            after = networks.whole(picks, self._swr)
            for place in range(len(picks)):
                (change,) = networks.changes(picks, place)
                found = difference(self.before, after.take([place]), [one.band])
                tried.append(Tried(change, found, (one.band,), True))
        # Another part is asked for, and solved, only where nothing that is done to the band helps.
        for change in () if any(entry.helps(one) for entry in tried) else range_candidates(self._solved):
            description = applied(self._description, change.edits)
            alone = BandNetworks.standing(self._amplifier, description, [one.band])
            found = difference(self.before, alone.whole(as_they_stand(1), self._swr), [one.band])
            tried.append(Tried(change, found, (one.band,), True))
        return sorted(tried, key=lambda entry: entry.after(one)[1] or np.inf)

    @cached_property
    def nearest(self) -> Mapping[int, Tried]:
        """By band the coil or tap that matches with a loaded Q nearest to the target, unless it is the present one."""
        found = {}
        for networks, picks, outcome in self._pools:
            tuned = outcome.tuned.all(axis=(0, 2)) & (picks.variant > 0)
            for number, choice in enumerate(networks.choices):
                own = [
                    p
                    for p in np.flatnonzero(tuned & (picks.band == number))
                    if _is_coil(choice, picks.variant[p])
                ]
                best = min(own, key=lambda pick: float(outcome.off_target[pick]), default=None)
                if best is not None and (
                    not self.before.tuned[:, choice.index].all()
                    or outcome.off_target[best] < self.before.off_target[choice.index]
                ):
                    (change,) = networks.changes(picks, int(best))
                    after = difference(self.before, outcome.take([int(best)]), [choice.index])
                    found[choice.index] = Tried(change, after, (choice.index,))
        return found

    @cached_property
    def _present(self) -> BandNetworks:
        return BandNetworks.standing(self._amplifier, self._description, self._bands)

    def _on_all(self, changes: Iterable[Change], *, exact: bool) -> Iterator[Tried]:
        """Solve all bands with each change that the reader would have and with which the stage can run."""
        tried = [(change, networks) for change in changes if (networks := self._with(change)) is not None]
        picks = as_they_stand(len(self._bands))
        # All in one go: a search for the peak of the output takes as long for one change as for twenty.
        stands = settings_together([networks.picked(picks)[1] for _, networks in tried])
        for (change, networks), stand in zip(tried, stands, strict=True):
            after = networks.whole(picks, self._swr, stand) if exact else networks.outcome(picks, stand=stand)
            yield Tried(change, difference(self.before, after, self._bands), tuple(self._bands), exact)

    def _with(self, change: Change) -> BandNetworks | None:
        """Assemble all bands with a change; None if the stage cannot run so, or the reader would not have it."""
        description = applied(self._description, change.edits)
        if not keeps_the_rules(description):
            return None
        like = None if _touches_coils(change) else self._present
        try:
            return BandNetworks.standing(self._amplifier, description, self._bands, like)
        except DescriptionError:
            return None

    def proven(self, changes: Iterable[Change]) -> Iterator[Tried]:
        """Solve changes once more, with everything that a check prints; as many as can be afforded.

        Yields
        ------
        Tried
            With the contacts of the switch following a tap.
        """
        each = {index: int((self._solved.assembly.band_index == index).sum()) for index in self._bands}
        left = MOST_NETWORKS
        if asks_for_more(self._amplifier, self._swr):
            left = len(self._solved.assembly)
        alone: list[tuple[Change, int]] = []
        on_all: list[Change] = []
        known = {tried.change.key: tried for tried in self._of_parts if tried.exact}
        for change in changes:
            if change.key in known:
                yield known[change.key]
                continue
            (change,) = with_contacts(self._description, [change])
            index = self._own_band(change)
            left -= sum(each.values()) if index is None else each[index]
            if left < 0:
                break
            if index is not None:
                alone.append((change, index))
            else:
                on_all.append(change)
        for other in (False, True):  # each topology's networks by themselves
            some = [change for change in on_all if (change.kind == "topology") is other]
            yield from self._on_all(some, exact=True)
        yield from self._on_their_bands(alone)

    def _on_their_bands(self, changes: Sequence[tuple[Change, int]]) -> Iterator[Tried]:
        """Solve changes that touch nothing but their bands, all in one go."""
        kept, choices = [], []
        for change, index in changes:
            description = applied(self._description, change.edits)
            if keeps_the_rules(description):
                kept.append((change, index))
                choices += as_it_stands(description, [index])
        if not kept:
            return
        networks = BandNetworks(self._amplifier, self._description, choices, moving=())
        after = networks.whole(as_they_stand(len(choices)), self._swr)
        for column, (change, index) in enumerate(kept):
            yield Tried(change, difference(self.before, after.take([column]), [index]), (index,), True)

    def _own_band(self, change: Change) -> int | None:
        """Return the only band that a change can affect; None if others may be: a tap is a contact for them too."""
        index = next((step for edit in change.edits for step in edit.path if isinstance(step, int)), None)
        if change.band is None or index is None:
            return None
        network = self._description.network
        coils = [coil for coil in (network.coil, network.output_coil) if coil is not None]
        if any(str(edit.path[-1]).endswith("_turns") for edit in change.edits) and (
            network.band_switch is not None or any(coil.unused_turns == "progressive" for coil in coils)
        ):
            return None
        return int(index)


def _is_coil(choice: Choices, variant: int) -> bool:
    return str(choice.variants[variant].changes[0].edits[0].path[-1]) in ("coil", "coil_turns")


def _touches_coils(change: Change) -> bool:
    return (
        any(
            edit.path[0] == "bands" or edit.path[:2] in (("network", "coil"), ("network", "output_coil"))
            for edit in change.edits
        )
        or change.kind == "topology"
    )
