"""The six pictures: four of the room, one of the casing with a sheet, one of a pipe with a card."""
from __future__ import annotations

from demo_photos.render.camera import Lens, View

#: One phone, one lens: 26 mm equivalent by the picture's diagonal is 1201.8 px; the true figure is a little off it.
LENS = Lens(focal_px=1216.0, k1=-0.034)
LYING, UPRIGHT = (1600, 1200), (1200, 1600)

ROOM_VIEWS = (
    View(file="room-1.jpg", eye_mm=(742.0, -196.0, 1566.0), heading_deg=68.0, pitch_deg=27.0, roll_deg=0.7,
         size_px=LYING, orientation=1, lens=LENS),
    View(file="room-2.jpg", eye_mm=(4090.0, 1898.0, 1488.0), heading_deg=174.2, pitch_deg=29.8, roll_deg=-1.0,
         size_px=LYING, orientation=1, lens=LENS),
    View(file="room-3.jpg", eye_mm=(193.0, 2936.0, 1524.0), heading_deg=-12.4, pitch_deg=27.9, roll_deg=0.5,
         size_px=UPRIGHT, orientation=6, lens=LENS),
    View(file="room-4.jpg", eye_mm=(3780.0, 3196.0, 1496.0), heading_deg=-111.0, pitch_deg=26.4, roll_deg=-0.6,
         size_px=LYING, orientation=1, lens=LENS),
)
CASING_VIEW = View(file="closeup-casing.jpg", eye_mm=(1478.0, 322.0, 640.0), heading_deg=-92.0, pitch_deg=72.0,
                   roll_deg=1.0, size_px=LYING, orientation=1, lens=LENS)
PIPE_VIEW = View(file="closeup-pipe.jpg", eye_mm=(4064.0, 1006.0, 605.0), heading_deg=40.0, pitch_deg=71.0,
                 roll_deg=-1.5, size_px=LYING, orientation=1, lens=LENS)
VIEWS = (*ROOM_VIEWS, CASING_VIEW, PIPE_VIEW)
