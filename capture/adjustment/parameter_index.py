"""The network as index arrays: what the equations work on. Names go in, whole numbers come out, nothing is computed."""
from __future__ import annotations

import numpy as np

from capture.network import Network, Photo
from capture.readings.indexed import Indexed, Names, floats, ints
from capture.readings.table import KINDS


def index_network(network: Network) -> Indexed:
    """Index arrays of a network; raises CaptureError "unknown-point" or "unknown-photo" for a name that leads
    nowhere."""
    targets = sorted({m.seen.number for m in network.target_marks})
    names = Names(network, _point_names(network), targets)
    return Indexed(
        names=names.names,
        outline=np.arange(len(network.outline)),
        photo_names=tuple(p.name for p in network.photos),
        photo_camera=ints([names.camera(p.camera, p.name) for p in network.photos]),
        photo_centre=floats([_centre(p, network) for p in network.photos], 2),
        photo_centre_sd=floats([_centre_sd(p, network) for p in network.photos]),
        lens_focal=floats([c.focal_px for c in network.cameras]),
        lens_focal_sd=floats([c.focal_sd for c in network.cameras]),
        lens_distortion=floats([(c.k1, c.k2) for c in network.cameras], 2),
        lens_distortion_sd=floats([(c.k1_sd, c.k2_sd) for c in network.cameras], 2),
        tape_error_sd=floats(_tape_error(network)),
        target_numbers=ints(targets),
        target_mm=network.target_size_mm,
        readings=tuple(kind.read(network, names) for kind in KINDS),
    )


def _point_names(network: Network) -> tuple[str, ...]:
    """Every named point once: outline, islands, then the others in the order they are first met."""
    names = dict.fromkeys(network.outline)
    for island in network.islands:
        names.update(dict.fromkeys(island.corners))
    for kind in KINDS:
        names.update(dict.fromkeys(name for name, _ in kind.points(network)))
    return tuple(names)


def _tape_error(network: Network) -> list[float]:
    """Spreads of the tape's own scale and hook; an error taken as none is held to a millionth (of a mm)."""
    error = network.tape_error
    return [] if error is None else [max(error.scale_sd, 1e-6), max(error.hook_sd_mm, 1e-6)]


def _centre(photo: Photo, network: Network) -> tuple[float, float]:
    """Middle of the upright picture, px, with (0, 0) the centre of the first pixel."""
    width, height = photo_size_px(photo, network)
    return (width - 1) / 2.0, (height - 1) / 2.0


def _centre_sd(photo: Photo, network: Network) -> float:
    """How far the lens's axis may be off that middle, px along each axis."""
    camera = next(c for c in network.cameras if c.name == photo.camera)
    return max(camera.centre_sd * max(photo_size_px(photo, network)), 1e-3)


def photo_size_px(photo: Photo, network: Network) -> tuple[int, int]:
    """(width, height) of an upright picture, its own or its camera's."""
    camera = next(c for c in network.cameras if c.name == photo.camera)
    return photo.size_px or (camera.width_px, camera.height_px)
