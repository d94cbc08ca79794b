"""What `tests/run.py quick` leaves out: whatever takes seconds and not moments, so that the rest takes under a minute on two cores."""

SLOW = (
    "tests/browser", "tests/test_fuzz.py", "tests/test_house.py::test_the_rooms_are_typed_and_a_planted_none_is_found",
    *(f"tests/capture/test_{name}.py" for name in (
        "again", "bow", "closeups", "paper_sheet", "real_photos", "snap", "solve", "starts", "targets")),
    *(f"tests/layout/test_{name}.py" for name in ("follow", "manners", "mixed_plan", "owned", "planner", "ripple", "stock", "walk", "words")),
    *(f"tests/printpack/test_{name}.py" for name in ("booklet", "checks", "files", "paper_is_enough", "tiles", "true_scale")),
    *(f"tests/desk/test_{name}.py" for name in (
        "answers", "bad_surveys", "cli", "closeups", "crash", "day", "demo", "demo_truth", "floor_targets", "house_jobs", "kept", "many", "planning",
        "properties", "schema", "server")),
)
