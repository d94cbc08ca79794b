"""The likely mishaps of a survey that makes no room, tried one after the other: what keeps all readings first."""
from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np

from capture.adjustment.batch import minimise_all
from capture.adjustment.least_squares import Fit
from capture.adjustment.parameter_index import index_network
from capture.initial.selection import is_believable, is_sound, light_minima, promising_floors, sound_without
from capture.initial.traverses import sketch_turns
from capture.mishaps.errors import mishap_error
from capture.mishaps.facts import OrderMixed, StrangePhoto
from capture.mishaps.foreign_photo import is_fixed, strange_photo, without_photo
from capture.mishaps.letters import letters_mixed
from capture.mishaps.outline import neighbours_swapped, one_corner, order_mixed
from capture.mishaps.standing import Places, Stand, state_of, stood_as_told
from capture.mishaps.trial import Explained, against, tried
from capture.network import Network
from capture.readings.indexed import Indexed
from capture.readings.state import State
from capture.readings.tape import Tapes

#: Floors on which photos are stood with other letters: from wall lengths, from the minima found.
_FROM_LENGTHS, _FROM_FITS = 8, 2
#: Chi-square at 0.001, two degrees of freedom.
_LEAD = 13.8
#: Photos nearer than this to a rough floor of lengths alone stand on it, px (root mean square) of 1600.
_WELL_PX = 40.0


class MishapSearch:
    """The likely mishaps of one survey; what several of them rest on is worked out once."""

    def __init__(self, network: Network, ix: Indexed) -> None:
        self._network, self._ix = network, ix

    def likely(self, fits: list[Fit]) -> Explained | None:
        """The likeliest mishap that makes all readings agree; None where none does.

        Each is a model of as many unknowns as the survey as told (or fewer), and must pass chi-square at 0.001: nothing
        is left out to make it pass, so that it is tried before any reading is doubted. Where the survey as told passes
        too, odd as it is as a room, the change must be better by `_LEAD`.
        """
        network, ix = self._network, self._ix
        found = one_corner(network, ix, fits) or order_mixed(network, ix, fits)
        if not found and ix.photo_names:
            floors = self._of_lengths or [places for _, some in self._without_a_photo for places in some]
            found = letters_mixed(network, ix, floors + [_places(ix, state)
                                                         for state in promising_floors(ix, fits, _FROM_FITS)])
        return found[0] if found and found[0].against + _LEAD < self._as_told(fits) else None

    def without_a_length(self) -> list[Fit]:
        """Floors of all readings but one length, where the other lengths give an outline and every photo stands on it:
        a length that is off by a metre, or is that of another pair, spoils most rough floors."""
        network, ix = self._network, self._ix
        tried = [(state, ix.numbers_of(Tapes)[k]) for k in range(len(network.tapes)) if ix.photo_names
                 for places in _floors_of_lengths(replace(network, tapes=network.tapes[:k] + network.tapes[k + 1:]))
                 if (state := _stood_well(ix, places)) is not None]
        return sound_without(ix, [state for state, _ in tried], [number for _, number in tried])

    def late(self, fits: list[Fit]) -> Explained | None:
        """What takes longer to try: an order of the corners with which no floor was found at all, a photo that is not
        of this room. Raises MishapError for the latter."""
        as_told = self._as_told(fits)
        order = self.order(as_told)
        return order if order is not None or np.isfinite(as_told) else self._of_a_photo()

    def order(self, as_told: float) -> Explained | None:
        """Another order of the corners against which less speaks, by `_LEAD`, than what speaks against the survey as
        it was told."""
        order = _other_order(self._network)
        return order if order is not None and order.against + _LEAD < as_told else None

    def _as_told(self, fits: list[Fit]) -> float:
        """What speaks against the survey as it was told; inf where no floor fits it."""
        return min((against(self._ix, fit) for fit in fits if is_sound(self._ix, fit)), default=np.inf)

    def _of_a_photo(self) -> Explained | None:
        """A photo without which all others agree, found by solving without each in turn: with other letters where that
        explains it. Raises MishapError for a photo that fits in no way."""
        strange = self._stands_alone()
        if strange is not None:
            raise mishap_error(strange)
        found = letters_mixed(self._network, self._ix, [places for _, floors in self._without_a_photo
                                                        for places in floors])
        if not found and len(self._without_a_photo) == 1:
            raise mishap_error(StrangePhoto(photo=self._without_a_photo[0][0]))
        return found[0] if found else None

    def _stands_alone(self) -> StrangePhoto | None:
        """The one photo that does not stand where all others do, on an outline of the lengths alone."""
        ix, states = self._ix, []
        for places in self._of_lengths[:_FROM_FITS]:
            stands = stood_as_told(ix, places)
            well = {photo: stand for photo, stand in stands.items() if _is_well(ix, stand)}
            if len(well) == len(ix.photo_names) - 1 > 0:
                anywhere = dict.fromkeys(range(len(ix.photo_names)), next(iter(well.values())))
                state = state_of(ix, places, {**anywhere, **stands})
                states += [state] if state is not None else []
        return strange_photo(self._network, ix, states)

    @cached_property
    def _of_lengths(self) -> list[Places]:
        """Outlines of the lengths alone."""
        return _floors_of_lengths(self._network)

    @cached_property
    def _without_a_photo(self) -> list[tuple[str, list[Places]]]:
        """Each photo without which the others agree, and the floors that they agree on."""
        found = []
        for name in self._ix.photo_names if len(self._ix.photo_names) > 1 else ():
            rest = without_photo(self._network, name)
            if not is_fixed(rest):
                continue
            bare = index_network(rest)
            fits = [fit for fit in light_minima(bare) if is_believable(bare, fit)]
            floors = [{self._ix.names.index(point): complex(*state.points_mm[k]) for k, point in enumerate(bare.names)}
                      for state in promising_floors(bare, fits, _FROM_LENGTHS)]
            found += [(name, floors)] if floors else []
        return found


def _other_order(network: Network) -> Explained | None:
    """Neighbours swapped in the outline where no floor was found with the order as told: floors of the lengths, photos
    stood on them."""
    found = []
    for points, outline in neighbours_swapped(network.outline):
        mended = replace(network, outline=outline)
        ix = index_network(mended)
        for places in _floors_of_lengths(mended)[:_FROM_FITS]:
            start = _stood_well(ix, places)
            mishap = OrderMixed(points=points, crossing=None, outline=outline)
            explained = None if start is None else tried(mishap, mended, ix, start)
            if explained is not None:
                found.append(explained)
    return min(found, key=lambda one: one.against, default=None)


def _is_well(ix: Indexed, stand: Stand) -> bool:
    return stand.off_px < _WELL_PX / 800.0 * float(np.max(ix.photo_centre))


def _stood_well(ix: Indexed, places: Places) -> State | None:
    """A rough outline with its photos, if all of them stand well on it."""
    stands = stood_as_told(ix, places)
    return state_of(ix, places, stands) if all(_is_well(ix, stand) for stand in stands.values()) else None


def _floors_of_lengths(network: Network) -> list[Places]:
    """Outlines from turns, each brought to the minimum of the lengths alone; by number of the corner."""
    taped = replace(network, cameras=(), photos=(), marks=(), wall_lines=(), target_marks=(), papers=(), squares=())
    if not taped.tapes:
        return []
    bare = index_network(taped)
    corners = len(network.outline)
    states = [state for sketch in sketch_turns(bare, keep=_FROM_LENGTHS)
              if (state := state_of(bare, sketch.places, {})) is not None]
    fits = minimise_all(bare, states, iterations=15) if states else []
    ends = [fit.state if np.isfinite(fit.cost) else state for fit, state in zip(fits, states)]
    return [{k: complex(x, y) for k, (x, y) in enumerate(state.points_mm[:corners].tolist())} for state in ends]


def _places(ix: Indexed, state: State) -> Places:
    return {k: complex(x, y) for k, (x, y) in enumerate(state.points_mm[:len(ix.names)].tolist())}
