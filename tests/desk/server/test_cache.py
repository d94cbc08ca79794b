"""What the desk remembers: another unit words the floor anew and solves nothing."""
import dataclasses

import capture.solve
from desk.jobfile.parse import parse_job
from desk.server.cache import Solver


def test_another_unit_solves_and_plans_nothing_anew(box, monkeypatch):
    job, solver, solved = parse_job(box), Solver(), []
    solve = capture.solve.solve_floor
    monkeypatch.setattr(capture.solve, "solve_floor", lambda *args,
                        **kwargs: (solved.append(1), solve(*args, **kwargs))[1])
    metric = solver.survey(job, {})
    imperial = solver.survey(dataclasses.replace(job, show="imperial"), {})
    assert len(solved) == 1 and imperial.floor is metric.floor
    assert " mm" in metric.verdict and " mm" not in imperial.verdict and '"' in imperial.verdict
