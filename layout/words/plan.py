"""Everything there is to say of a plan, worded once in the unit asked for."""
from __future__ import annotations

from dataclasses import dataclass

from layout.plan import Choice, Plan
from layout.words.cautions import CAUTIONS
from layout.words.notes import note_words
from layout.words.purchases import Line, item_words
from layout.words.reasons import bound_words, reason_words, wall_words
from layout.words.rules import profile_words, relaxed_words


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWords:
    """A plan in sentences. relaxed, profiles, shopping and choices stand beside those of the plan, one for each.

    notes: what the reader must know or decide, beside the rules that gave way and the profiles.
    """

    reasons: tuple[str, ...]
    bound: str
    relaxed: tuple[str, ...]
    profiles: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    choices: tuple[str, ...]
    shopping: tuple[Line, ...]

    @property
    def gave_way(self) -> tuple[str, ...]:
        """The rules that gave way, each sentence once."""
        return tuple(dict.fromkeys(self.relaxed))

    @property
    def warnings(self) -> tuple[str, ...]:
        """Profiles and notes, each sentence once."""
        return tuple(dict.fromkeys((*self.profiles, *self.notes)))


def plan_words(plan: Plan, show: str) -> PlanWords:
    """The plan's facts in sentences; `show` ("metric" or "imperial") is the unit of lengths in them."""
    return PlanWords(reasons=tuple(reason_words(reason, show) for reason in plan.reasons),
                     bound=bound_words(plan.bound_by),
                     relaxed=tuple(relaxed_words(gave, show) for gave in plan.relaxed),
                     profiles=tuple(profile_words(plan, profile, show) for profile in plan.profiles),
                     notes=tuple(note_words(note, show) for note in plan.notes),
                     cautions=tuple(caution.sentence for caution in CAUTIONS.values()),
                     choices=tuple(choice_words(choice) + ("" if number else " (chosen)")
                                   for number, choice in enumerate(plan.choices)),
                     shopping=tuple(item_words(item, show) for item in plan.shopping))


def choice_words(choice: Choice) -> str:
    """A way of laying by its walls."""
    if choice.along is None or choice.start is None:
        return "The rows of this plan"
    return f"Rows along {wall_words(choice.along)}, starting at {wall_words(choice.start)}"
