"""Everything there is to say of a plan, worded once in the unit asked for."""
from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from capture.language.messages import gettext
from layout.plan import Choice, Plan
from layout.words.cautions import CAUTIONS
from layout.words.notes import note_words
from layout.words.purchases import Line, item_words
from layout.words.reasons import bound_words, reason_words, wall_words
from layout.words.rules import alike_words, chalk_words, profile_words, relaxed_words
from layout.words.terms import in_terms


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWords:
    """A plan in sentences. relaxed, profiles, shopping and choices stand beside those of the plan, one for each.

    gave_way: the rules that gave way, each sentence once, rows that are alike all in one. notes: what the reader must
    know or decide, beside the rules that gave way and the profiles.
    """

    reasons: tuple[str, ...]
    bound: str
    relaxed: tuple[str, ...]
    gave_way: tuple[str, ...]
    profiles: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    choices: tuple[str, ...]
    shopping: tuple[Line, ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """Profiles and notes, each sentence once."""
        return tuple(dict.fromkeys((*self.profiles, *self.notes)))


def plan_words(plan: Plan, show: str) -> PlanWords:
    """The plan's facts in sentences; `show` ("metric" or "imperial") is the unit of lengths in them."""
    def said(texts: Iterable[str]) -> tuple[str, ...]:
        return tuple(in_terms(text, show) for text in texts)

    return PlanWords(reasons=said(_reasons(plan, show)), bound=in_terms(bound_words(plan.bound_by), show),
                     relaxed=said(relaxed_words(gave, show) for gave in plan.relaxed),
                     gave_way=said(dict.fromkeys(_gave_way(plan, show))),
                     profiles=said(profile_words(plan, profile, show) for profile in plan.profiles),
                     notes=said(note_words(note, show) for note in plan.notes),
                     cautions=said(caution.sentence for caution in CAUTIONS.values()),
                     choices=tuple(choice_words(choice) if number else gettext("{way} (chosen)",
                                                                               way=choice_words(choice))
                                   for number, choice in enumerate(plan.choices)),
                     shopping=tuple(_line(item_words(item, show), show) for item in plan.shopping))


def _reasons(plan: Plan, show: str) -> Iterator[str]:
    for reason in plan.reasons:
        yield reason_words(reason, show)
    if plan.chalk is not None:
        yield chalk_words(plan.chalk, show)


def _gave_way(plan: Plan, show: str) -> Iterator[str]:
    alike = [gave for gave in plan.relaxed if gave.rule == "alike"]
    for gave in plan.relaxed:
        if gave.rule != "alike":
            yield relaxed_words(gave, show)
    if alike:
        yield alike_words(alike, show)


def _line(line: Line, show: str) -> Line:
    return replace(line, what=in_terms(line.what, show), why=in_terms(line.why, show))


def choice_words(choice: Choice) -> str:
    """A way of laying by its walls."""
    if choice.along is None or choice.start is None:
        return gettext("The rows of this plan")
    return gettext(
        "Rows along {along}, starting at {start}", along=wall_words(choice.along), start=wall_words(choice.start))
