"""How laying a floor can hurt: what holds for every plan.

Each caution names its rule or source in short. "Common practice" means no source is known to us; HSE is the British
safety regulator; EN and BS numbers are standards quoted second-hand.
"""
from __future__ import annotations

from dataclasses import dataclass

from capture.language.messages import ENGLISH, gettext, marked, spoken, worded


@dataclass(frozen=True, slots=True)
class Caution:
    """What to do, and the word it is found by ("" where the sentence needs none); both are still to be worded."""

    text: str
    lead: str = ""

    @property
    def sentence(self) -> str:
        """Both in one."""
        text = worded(self.text)
        if not self.lead:
            return text
        text = text[0].lower() + text[1:] if spoken() is ENGLISH else text  # elsewhere a noun may stand in front
        return gettext("{lead}: {text}", lead=worded(self.lead), text=text)


#: Every caution by its slug, in the order they are read.
CAUTIONS: dict[str, Caution] = {
    "dust": Caution(marked(
        "Cut outdoors or with extraction, wear an FFP2 mask or better and vacuum instead of sweeping (HSE wood dust "
        "limit 3 mg/m3 for mixtures; mask class common practice)."), marked("Dust")),
    "eyes": Caution(marked(
        "Wear safety glasses for every cut; chips of the hard face are sharp (EN 166)."), marked("Eyes")),
    "ears": Caution(marked(
        "A mitre or circular saw is 95 to 105 dB(A) at the ear; wear muffs (Noise Regulations 2005, action at 80 "
        "and 85 dB(A))."), marked("Ears")),
    "saw": Caution(marked(
        "Guard working, plug out before touching the blade, work clamped, no gloves near a spinning blade (HSE and "
        "OSHA general advice)."), marked("Saw")),
    "back-and-knees": Caution(marked(
        "A pack weighs 11 to 23 kg - carry it with two people or split it; kneel on pads and change posture every "
        "20 to 30 minutes (HSE)."), marked("Back and knees")),
    "asbestos": Caution(marked(
        "Vinyl or thermoplastic tiles and black adhesive (UK before 2000, US before the 1980s) may hold asbestos. "
        "Do not sand, scrape or drill; lay over a sound floor or have it tested (US EPA advice)."),
        marked("Old floors")),
    "lead": Caution(marked(
        "Old paint on skirting and frames may hold lead (US homes before 1978, UK before 1992): keep dust wet and "
        "children out (US EPA advice).")),
    "pipes-and-cables": Caution(marked(
        "Before any screw, nail or drill goes down: find cables and pipes, power off. Gas, heating and electric "
        "work is for registered or licensed fitters.")),
    "fire-doors": Caution(marked(
        "Fire doors and flat entrance doors are never trimmed or undercut: ask the landlord or building control (BS "
        "8214).")),
    "damp": Caution(marked(
        "A film does not cure a wet slab. Screed at most 2.0 CM-% (calcium sulphate 0.5), timber subfloor at most "
        "12 % (maker leaflets)."), marked("Damp")),
    "leaflet": Caution(marked("The board maker's leaflet overrules this plan wherever the two differ.")),
}
