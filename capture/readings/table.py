"""The kinds of reading. A new kind is a class and its entry here: nothing else counts lines or lists kinds."""
from __future__ import annotations

from capture.readings.beliefs import OnWalls, Squares
from capture.readings.indexed import Readings
from capture.readings.photo import Marks, WallClicks
from capture.readings.priors import LensCentres, Lenses, TapeErrors
from capture.readings.sheets import Papers, TargetShapes, TargetSizes
from capture.readings.tape import Offsets, Tapes

#: Every kind, in the order of the observation lines and of the readings in answers.
KINDS: tuple[type[Readings], ...] = (Marks, WallClicks, Tapes, Offsets, Squares, OnWalls, Papers, TargetShapes,
                                     TargetSizes, Lenses, LensCentres, TapeErrors)
#: The unit of each kind of reading, by what it is called in answers; "" for mixed ones.
UNITS = {name: unit for kind in KINDS for name, unit in kind.units.items()}
#: What is known beforehand and never doubted.
PRIORS = frozenset(name for kind in KINDS if kind.prior for name in kind.units)
