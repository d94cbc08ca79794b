"""What an offcut is called at the floor: by what stands on it in pencil, as long as one bears the name. Common
practice, no source."""
from __future__ import annotations

from dataclasses import replace

from layout.planfile.codec import from_answer, to_answer
from layout.planning.planner import plan_floor
from layout.replan.progress import called
from layout.room import Wishes


def test_a_name_in_pencil_is_kept_until_another_offcut_bears_it_and_comes_back_from_a_file(chimney, board):
    plan = plan_floor(chimney, board, Wishes(), moves=60)
    used = next(offcut for offcut in plan.offcuts if offcut.used_by)
    idle = replace(used, label="spare", used_by="", pencilled=used.used_by)
    alone, both = (replace(plan, offcuts=offcuts) for offcuts in ((idle,), (idle, used)))
    assert called(alone) == {"spare": used.used_by}
    assert called(both) == {"spare": "spare", used.label: used.used_by}
    assert called(replace(plan, offcuts=(replace(idle, pencilled=""),))) == {"spare": "spare"}
    assert from_answer(to_answer(both)).offcuts == both.offcuts
