"""What a homeowner calls things: in millimetres and British English, or in inches and American English.

One table for every page. Sizes that are bought or asked for as they are (a straightedge, the lap of a film, a mask's
class) stand here too, in each trade's own round figures. American words and figures: common practice and from memory,
except the straightedge (1/8 in under 6 ft, trade articles quoting NWFA) and the mask (N95, NIOSH's class beside FFP2).
"""
from __future__ import annotations

import re
from dataclasses import dataclass, fields

from capture.language.messages import ENGLISH, localised, marked, spoken, worded

NO_BREAK = "\u00a0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """Words and round figures of one way of speaking.

    skirting: the board at the foot of a wall. beading: the strip in front of it. lining: the frame the leaf hangs in.
    stop: the strip on it the leaf shuts against. profile: what covers the gap in a doorway; ramp: the one that comes
    down to a lower floor. straightedge, short_edge: with the gap allowed under each. lap: of a film's sheets. film: how
    thick.
    """

    skirting: str
    beading: str
    lining: str
    stop: str
    profile: str
    ramp: str
    straightedge: str
    straightedge_gap: str
    short_edge: str
    short_edge_gap: str
    lap: str
    film: str
    mask: str
    timber: str
    mitre: str


#: Sizes among them: no words.
_FIGURES = frozenset({"straightedge_gap", "short_edge", "short_edge_gap", "lap", "film"})
_BRITISH = Terms(
    skirting=marked("skirting"), beading=marked("beading"), lining=marked("lining"), stop=marked("stop"),
    profile=marked("threshold profile"), ramp=marked("ramp profile"), straightedge=marked("2\u00a0m straightedge"),
    straightedge_gap=f"3{NO_BREAK}mm", short_edge=f"1{NO_BREAK}m", short_edge_gap=f"2{NO_BREAK}mm",
    lap=f"200{NO_BREAK}mm", film=f"0.2{NO_BREAK}mm", mask=marked("FFP2 mask"), timber=marked("timber"),
    mitre=marked("mitre"))
_AMERICAN = Terms(
    skirting=marked("baseboard"), beading=marked("shoe molding"), lining=marked("jamb"), stop=marked("stop"),
    profile=marked("transition strip"), ramp=marked("reducer"), straightedge=marked("6\u00a0ft straightedge"),
    straightedge_gap='1/8"', short_edge=f"3{NO_BREAK}ft", short_edge_gap='1/16"', lap=f"8{NO_BREAK}in",
    film=f"8{NO_BREAK}mil", mask=marked("N95 mask"), timber=marked("wood"), mitre=marked("miter"))

#: Words of sentences about a plan -> American ones; longer ones first.
_SAID = (
    ("polythene film", "polyethylene film"),
    ("skirting or beading", "baseboard or shoe molding"),
    ("threshold profile", _AMERICAN.profile), ("expansion profile", "expansion strip"),
    ("FFP2 mask", _AMERICAN.mask), ("FFP2", "N95"),
    ("building control", "the building department"),
    ("registered or licensed fitters", "licensed plumbers and electricians"),
    ("timber", "wood"), ("skirting", "baseboard"), ("beading", "shoe molding"), ("mitres", "miters"),
    ("mitre", "miter"), ("plug out", "unplug"), ("metre", "meter"),
)
_WORDS = re.compile("|".join(rf"\b{re.escape(word)}\b" for word, _ in _SAID), re.IGNORECASE)
_AMERICAN_FOR = dict(_SAID)


def terms_for(show: str) -> Terms:
    """The words that go with "metric" or "imperial" lengths, in the reader's language."""
    terms = _AMERICAN if show == "imperial" else _BRITISH
    return terms if spoken() is ENGLISH else Terms(
        **{term.name: (localised if term.name in _FIGURES else worded)(getattr(terms, term.name))
           for term in fields(Terms)})


def american_words() -> tuple[tuple[str, str], ...]:
    """Words of English sentences with the American ones, longer ones first; none where another language is read."""
    return _SAID if spoken() is ENGLISH else ()


def in_terms(text: str, show: str) -> str:
    """A sentence in the reader's words; its lengths are in the reader's unit already (`layout.words.lengths`)."""
    return _WORDS.sub(_worded, text) if show == "imperial" and spoken() is ENGLISH else text


def _worded(match: re.Match[str]) -> str:
    word = _AMERICAN_FOR.get(match[0]) or _AMERICAN_FOR[match[0][:1].lower() + match[0][1:]]
    return word[:1].upper() + word[1:] if match[0][:1].isupper() else word
