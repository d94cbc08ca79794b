"""What would put a doubted reading right with one change: for a button beside the sentence that doubts it.

Nothing here decides: a mend is offered where the adjustment already says what the reading probably should have been.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from capture.adjustment.notes import NoLeftOrRight, Note
from capture.adjustment.survey import Reading
from capture.fact import Fact
from capture.mishaps.facts import Mishap, OneCorner, OrderMixed, StrangePhoto
from capture.readings.findings import Doubt, LengthOff, LettersMixed, MarkOff
from capture.slips import likely_slip


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend(Fact):
    """A change of the reading at `where`, its place in the job; a subclass is a kind of change. Programs are told its
    fields by their names."""

    where: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UseLength(Mend):
    """Another length: what the slip probably was made of, to a tenth of a millimetre."""

    slug: ClassVar[str] = "use-length"
    mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherPair(Mend):
    """The same length between two other points."""

    slug: ClassVar[str] = "other-pair"
    between: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherPoint(Mend):
    """The mark is of another point."""

    slug: ClassVar[str] = "other-point"
    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SwapPoints(Mend):
    """Two marks of one photo have each other's letter; other: the place of the second."""

    slug: ClassVar[str] = "swap-points"
    other: str
    points: tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rename(Mend):
    """Marks of one photo get other letters: (place, letter) of each."""

    slug: ClassVar[str] = "letters"
    letters: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherOrder(Mend):
    """The corners in another order; points: the two that are swapped, or the one put elsewhere."""

    slug: ClassVar[str] = "outline"
    points: tuple[str, ...]
    outline: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flip(Mend):
    """The corners the other way round, from the same first one: the floor becomes its mirror image."""

    slug: ClassVar[str] = "flip"
    outline: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepOne(Mend):
    """One letter takes the other's place everywhere, and the other is no corner any more."""

    slug: ClassVar[str] = "keep-one"
    kept: str
    dropped: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DropPhoto(Mend):
    """The photo `where` names, by its file, is taken out of the job with all its marks."""

    slug: ClassVar[str] = "leave-out-photo"


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaveOut(Mend):
    """The reading is taken out of the job."""

    slug: ClassVar[str] = "leave-out"


def mends_of(reading: Reading, suspects: Sequence[Reading], unit: str) -> tuple[Mend, ...]:
    """Changes that would put a suspect right, the likeliest first; none for one that names no place in the job.

    suspects: all of the survey's; unit: "metric" or "imperial", the marks of the tape in the reader's hand.
    """
    if not reading.where or not isinstance(reading.finding, Doubt):
        return ()
    likely: list[Mend] = []
    match reading.finding.how:
        case LengthOff() as off:
            slip = likely_slip(off, unit)
            if slip is not None and slip.mistake == "other-pair" and off.measures is not None:
                likely.append(OtherPair(where=reading.where, between=off.measures))
            elif slip is not None:
                likely.append(UseLength(where=reading.where, mm=round(slip.meant_mm, 1)))
        case LettersMixed() as mixed:
            return mends_of_mishap(mixed)
        case MarkOff(at=at) if at:
            likely.append(_swap(reading, at, suspects) or OtherPoint(where=reading.where, point=at))
        case MarkOff(strange=strange) if strange or _share_a_photo(suspects):
            likely.append(DropPhoto(where=reading.photo))
    return (*likely, LeaveOut(where=reading.where))


def _share_a_photo(suspects: Sequence[Reading]) -> bool:
    """Whether the suspects are marks of one photo of which one is wrong, nobody knows which: without the photo all is
    well whichever it is."""
    return len(suspects) > 1 and all(reading.kind == "mark" and reading.photo == suspects[0].photo
                                     and isinstance(reading.finding, Doubt) and not reading.finding.left_out
                                     for reading in suspects)


def mends_of_mishap(mishap: Mishap) -> tuple[Mend, ...]:
    """Changes of the job that undo a mishap, the likeliest first."""
    match mishap:
        case LettersMixed(renamed=((one, _, first), (other, _, second))):
            return (SwapPoints(where=one, other=other, points=(second, first)), DropPhoto(where=mishap.photo))
        case LettersMixed(renamed=renamed):
            return (Rename(where=renamed[0][0], letters=tuple((where, new) for where, _, new in renamed)),
                    DropPhoto(where=mishap.photo))
        case OrderMixed():
            return (OtherOrder(where="outline", points=mishap.points, outline=mishap.outline),)
        case OneCorner():
            return (KeepOne(where="outline", kept=mishap.kept, dropped=mishap.dropped),
                    KeepOne(where="outline", kept=mishap.dropped, dropped=mishap.kept))
        case StrangePhoto():
            return (DropPhoto(where=mishap.photo),)


def mends_of_note(note: Note, outline: tuple[str, ...]) -> tuple[Mend, ...]:
    """Changes of the job that a note asks its reader about; nothing for most. outline: as the job lists it."""
    if isinstance(note, NoLeftOrRight):
        return (Flip(where="outline", outline=(*outline[:1], *outline[:0:-1])),)
    return ()


def _swap(reading: Reading, at: str, suspects: Sequence[Reading]) -> SwapPoints | None:
    """The swap of two letters, where the mark of the other point in this photo is at this one's place."""
    for other in suspects:
        how = other.finding.how if isinstance(other.finding, Doubt) else None
        if (other.kind, other.photo, other.names) == ("mark", reading.photo, (at,)) and isinstance(how, MarkOff) \
                and how.at == reading.names[0]:
            return SwapPoints(where=reading.where, other=other.where, points=(reading.names[0], at))
    return None
