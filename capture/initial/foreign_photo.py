"""A photo that does not belong: of another room, or with its corners named for another place. Sought only where
nothing fits."""
from __future__ import annotations

from dataclasses import replace

from capture import progress
from capture.errors import CaptureError
from capture.adjustment.parameter_index import index_network
from capture.adjustment.datum_defect import refuse_unmeasured
from capture.network import Network
from capture.initial.selection import find_start, is_believable


def refuse_strange(network: Network) -> None:
    """Raise CaptureError "strange-photo" if all readings but one photo's agree on a room; silent where no photo is
    to blame."""
    progress.tell("photo-by-photo")
    strange = [photo.name for photo in network.photos if len(network.photos) > 1
               and _agree(_without(network, photo.name))]
    if len(strange) == 1:
        raise CaptureError("strange-photo", f"{strange[0]} does not fit the other photos and lengths, which agree "
                           "without it: is it of another room, "
                           "or are its corners named wrongly? Correct its marks, or take it out of the job",
                           where=strange[0])


def _without(network: Network, name: str) -> Network:
    return replace(network, photos=tuple(p for p in network.photos if p.name != name),
                   marks=tuple(m for m in network.marks if m.photo != name),
                   wall_lines=tuple(line for line in network.wall_lines if line.photo != name),
                   target_marks=tuple(m for m in network.target_marks if m.photo != name))


def _agree(network: Network) -> bool:
    ix = index_network(network)
    try:
        refuse_unmeasured(ix, network)
        return is_believable(ix, find_start(ix).fit)
    except CaptureError:
        return False
