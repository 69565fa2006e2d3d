"""What a reader must know before using a report: what this run says, and the standing cautions of safety."""

from __future__ import annotations

from collections.abc import Sequence

from towerpace.render.page.model import Block, Items, PageChapter, Para
from towerpace.render.saved.answer_file import Saved

# Common practice of the trade, no source, but for the UK rule named from memory of LOLER 1998, reg. 8.
STANDING = (
    "A planning input is never permission to lift. Limits come from the maker, from the lift plan of a "
    "competent person and from local law; in the United Kingdom every lift is planned by a competent "
    "person, supervised, and done safely.",
    "Whoever is on site may stop at any lower wind. Such a stop is never lost productivity of the crew.",
    "A panel is a sail: the limit with a panel in the air can be far below the limit of the crane. Nothing "
    "here computes the safety of a lift.",
    "Nobody stands under a load. The drop zone takes in every level below and the street, and glass falls "
    "sideways.",
    "Vacuum lifters are rated and examined; pads and seals are checked, the glass is clean and dry, a "
    "reserve holds the load, and a second hold is fitted where the plan asks for it.",
    "Open edges: people clipped on, tools tethered, a rescue plan, and edge protection off one bay at a "
    "time.",
    "Crane and stillages stand on slabs and back-props only as an engineer has agreed. Floor slots are not "
    "that agreement.",
    "Glass: cut-proof gloves and sleeves, upright storage, nobody alone, a plan for broken panels. "
    "Toughened glass fails without warning.",
    "Remote control: the operator sees the load, talks to the floor above, stops when the signal is lost, "
    "and one person commands.",
    "Fatigue, cold, darkness and lightning lower every limit. Overtime and night work in these results "
    "carry this note.",
    "Hoists, mobile platforms and building maintenance units have limits, checks and trained operators of "
    "their own. People never ride a hoist for goods.",
    "No person's performance is published: figures are of gangs and roles.",
)


def cautions(parts: Sequence[Saved]) -> PageChapter:
    """Cautions of the runs, then the standing ones."""
    own = list(dict.fromkeys(caution for part in parts for caution in part.answer.cautions))
    blocks: list[Block] = []
    if own:
        blocks += [Para("Of these results:", strong=True), Items(own)]
    blocks += [Para("Of every result of this program:", strong=True), Items(STANDING)]
    return PageChapter("cautions", "Cautions", blocks)
