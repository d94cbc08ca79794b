"""Drawn surveys with one thing spoilt, as people spoil it; what was drawn and what is told."""
from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from capture.network import Mark, Network, TapeLength
from tests.support import simulate

_UNITS = {"feet typed as metres": 1 / 0.3048, "metres typed as feet": 0.3048, "inches typed as cm": 1 / 2.54,
          "cm typed as inches": 2.54, "cm typed as mm": 0.1}


@dataclass(frozen=True, slots=True, kw_only=True)
class Mishap:
    """A survey as it is told and as it was drawn; what was spoilt: places of readings, or corners, or a photo."""

    kind: str
    told: Network
    drawn: Network
    case: simulate.Case
    spoilt: tuple[str, ...]


def numbered(network: Network) -> Network:
    """Every reading with a place of its own, as a job gives it."""
    return replace(network, marks=tuple(replace(m, where=f"marks[{k}]") for k, m in enumerate(network.marks)))


def draw(kind: str, seed: int) -> Mishap:
    """A drawn survey with this mishap; drawn until the mishap can happen in it."""
    rng = np.random.default_rng(seed)
    while True:
        case = simulate.draw_determined(rng, photos=int(rng.integers(2, 5)), diagonals=int(rng.integers(1, 4)))
        network = numbered(case.network)
        made = KINDS[kind](rng, network)
        if made is not None:
            told, drawn, spoilt = made
            return Mishap(kind=kind, told=told, drawn=drawn, case=case, spoilt=spoilt)


Made = tuple[Network, Network, tuple[str, ...]] | None


def _sound(rng: np.random.Generator, network: Network) -> Made:
    return network, network, ()


def _with_points(network: Network, renamed: dict[int, str]) -> Network:
    """The network with other letters at some marks, by number."""
    return replace(network, marks=tuple(replace(m, point=renamed.get(k, m.point)) for k, m in enumerate(network.marks)))


def _marks_of(rng: np.random.Generator, network: Network, least: int) -> list[int]:
    """The marks of a photo with so many at least; empty if none has."""
    by_photo = [[k for k, m in enumerate(network.marks) if m.photo == p.name] for p in network.photos]
    fit = [mine for mine in by_photo if len(mine) >= least]
    return fit[int(rng.integers(len(fit)))] if fit else []


def _letters(rng: np.random.Generator, network: Network) -> Made:
    """Two marks of a photo have each other's letter."""
    mine = _marks_of(rng, network, 3)
    if not mine:
        return None
    i, j = rng.choice(mine, 2, replace=False)
    told = _with_points(network, {i: network.marks[j].point, j: network.marks[i].point})
    return told, network, (network.marks[i].where, network.marks[j].where)


def _backwards(rng: np.random.Generator, network: Network) -> Made:
    """The letters of a photo run round the wrong way."""
    mine = _marks_of(rng, network, 4)
    if not mine:
        return None
    order = sorted(mine, key=lambda k: network.outline.index(network.marks[k].point))
    told = _with_points(network, {k: network.marks[other].point for k, other in zip(order, order[::-1])})
    return told, network, tuple(network.marks[k].where for k, other in zip(order, order[::-1]) if k != other)


def _order(rng: np.random.Generator, network: Network) -> Made:
    """Two neighbours are swapped in the outline."""
    k, outline = int(rng.integers(len(network.outline))), list(network.outline)
    j = (k + 1) % len(outline)
    outline[k], outline[j] = outline[j], outline[k]
    return replace(network, outline=tuple(outline)), network, (outline[k], outline[j])


def _clockwise(rng: np.random.Generator, network: Network) -> Made:
    """The corners are listed the other way round: nothing is wrong with that where photos show which way they run."""
    return replace(network, outline=network.outline[::-1]), network, ()


def _never_seen(rng: np.random.Generator, network: Network) -> Made:
    """A corner that no photo shows is never named, and nothing was taped to it; spoilt: its neighbours."""
    hidden = sorted(set(network.outline) - {m.point for m in network.marks})
    if not hidden or len(network.outline) < 5:
        return None
    corner, ring = str(rng.choice(hidden)), network.outline
    at = ring.index(corner)
    told = replace(network, outline=ring[:at] + ring[at + 1:], straight=(),
                   tapes=tuple(t for t in network.tapes if corner not in (t.a, t.b)),
                   wall_lines=tuple(w for w in network.wall_lines if corner not in w.wall))
    return (told, network, (ring[at - 1], ring[(at + 1) % len(ring)])) if len(told.tapes) > 2 else None


def _elsewhere(rng: np.random.Generator, network: Network) -> Made:
    """The marks of one photo are those of a photo of another room, with letters that this room has too."""
    other = simulate.draw_case(rng, photos=2, diagonals=1).network
    name = network.photos[int(rng.integers(len(network.photos)))].name
    theirs = [m for m in other.marks if m.photo == "0" and m.point in network.outline]
    if len(theirs) < 4:
        return None
    marks = [m for m in network.marks if m.photo != name] + [replace(m, photo=name) for m in theirs]
    drawn = replace(network, photos=tuple(p for p in network.photos if p.name != name),
                    marks=tuple(m for m in network.marks if m.photo != name),
                    wall_lines=tuple(w for w in network.wall_lines if w.photo != name))
    told = numbered(replace(network, marks=tuple(marks), wall_lines=drawn.wall_lines))
    seen = Counter(m.point for m in drawn.marks) + Counter(p for t in drawn.tapes for p in (t.a, t.b))
    return (told, drawn, (name,)) if len(network.photos) > 2 and min(seen[p] for p in network.outline) > 2 else None


def _length(network: Network, k: int, tape: TapeLength) -> Made:
    tapes = (*network.tapes[:k], tape, *network.tapes[k + 1:])
    return replace(network, tapes=tapes), network, (tape.where,)


def _unit(rng: np.random.Generator, network: Network) -> Made:
    """A length in another unit."""
    k, factor = int(rng.integers(len(network.tapes))), float(rng.choice(list(_UNITS.values())))
    return _length(network, k, replace(network.tapes[k], length_mm=network.tapes[k].length_mm * factor))


def _slip(rng: np.random.Generator, network: Network) -> Made:
    """A length off by 100 mm."""
    k, off = int(rng.integers(len(network.tapes))), float(rng.choice([-100.0, 100.0]))
    return _length(network, k, replace(network.tapes[k], length_mm=network.tapes[k].length_mm + off))


def _digits(rng: np.random.Generator, network: Network) -> Made:
    """Two neighbouring digits of a length swapped, the result off by 20 mm or more."""
    k = int(rng.integers(len(network.tapes)))
    digits = str(round(network.tapes[k].length_mm))
    i = int(rng.integers(len(digits) - 1))
    typed = float(digits[:i] + digits[i + 1] + digits[i] + digits[i + 2:])
    if typed < 100.0 or abs(typed - network.tapes[k].length_mm) < 20.0:
        return None
    return _length(network, k, replace(network.tapes[k], length_mm=typed))


def _pair(rng: np.random.Generator, network: Network) -> Made:
    """A length typed to another corner than it was measured to."""
    k = int(rng.integers(len(network.tapes)))
    tape = network.tapes[k]
    free = [name for name in network.outline if name not in (tape.a, tape.b)
            and {tape.a, name} not in [{t.a, t.b} for t in network.tapes]]
    return _length(network, k, replace(tape, b=str(rng.choice(free)))) if free else None


def _two_letters(rng: np.random.Generator, network: Network) -> Made:
    """A corner has another letter in some photos, listed behind it."""
    corner = str(rng.choice(network.outline))
    mine = [k for k, m in enumerate(network.marks) if m.point == corner]
    if len(mine) < 2:
        return None
    other = sorted(rng.choice(mine, int(rng.integers(1, len(mine))), replace=False).tolist())
    at = network.outline.index(corner) + 1
    photos = {network.marks[k].photo for k in other}
    lines = tuple(replace(w, wall=tuple("Z" if p == corner else p for p in w.wall)) if w.photo in photos else w
                  for w in network.wall_lines)
    told = replace(_with_points(network, dict.fromkeys(other, "Z")), wall_lines=lines,
                   outline=(*network.outline[:at], "Z", *network.outline[at:]))
    return told, network, (corner, "Z")


def _one_spot(rng: np.random.Generator, network: Network) -> Made:
    """In one photo the mark of a corner lies on another corner that is marked there too."""
    mine = _marks_of(rng, network, 3)
    if not mine:
        return None
    i, j = rng.choice(mine, 2, replace=False)
    there: Mark = network.marks[j]
    x, y = rng.normal(0, there.sd_px, 2) + (there.x_px, there.y_px)
    marks = list(network.marks)
    marks[i] = replace(marks[i], x_px=float(x), y_px=float(y))
    drawn = replace(network, marks=network.marks[:i] + network.marks[i + 1:])
    told = replace(network, marks=tuple(marks))
    return (told, drawn, (marks[i].where,)) if {m.point for m in drawn.marks} == set(network.outline) else None


KINDS: dict[str, Callable[[np.random.Generator, Network], Made]] = {
    "sound": _sound, "letters": _letters, "backwards": _backwards, "order": _order, "elsewhere": _elsewhere,
    "clockwise": _clockwise, "never seen": _never_seen,
    "unit": _unit, "slip": _slip, "digits": _digits, "pair": _pair, "two letters": _two_letters, "one spot": _one_spot}
