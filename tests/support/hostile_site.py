"""A small site on which all that people name bears a name as only people can give it, with its record.

Whatever has a name is a role, written «role» in the texts below. Roles take their names from a list in turn;
`turn` shifts them by one, so that in as many turns as there are names every role has borne each.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from render.made_answer import HOSTILE
from support.attacked_files import FORECAST, WIND
from support.wharf_in_small import RECORD
from towerpace.scenario.unseen import unseen_in

# Those of which all is seen: what is not is refused (tests/scenario/test_unseen.py).
HOSTILE_NAMES = tuple(word for word in HOSTILE if unseen_in(word) is None)

_ROLE = re.compile("«(.+?)»")

SCENARIO = """\
[tower]
name = «tower»
start = 2027-03-01
horizon_days = 200
levels = "levels.csv"
time_zone = "America/New_York"

[calendar.«hours»]
week = { mon = ["07:00-17:00"], tue = ["07:00-17:00"], wed = ["07:00-17:00"], thu = ["07:00-17:00"], \
fri = ["07:00-17:00"] }
source = «source»

[structure]
slip_days = { low = 0, likely = 1, high = 3, shape = "pert", source = «source» }

[resource.«gang»]
count = 2
cost_per_day = { value = 1, source = «source» }
[resource.«crane»]
count = 2
[resource.«hoist»]
count = 1
breakdown = { every_h = { low = 20, likely = 40, high = 90, shape = "pert" }, repair_h = 4 }
[resource.«bay»]
count = 1
[resource.«fixers»]
count = 1

[limit.«wind»]
wind_above_m_s = 9.0
kind = "gust"
restart_min = 20
source = «source»

[storage]
slots_per_level = 20

[crane]
resource = «crane»
set_up_min = 60
zone_move_min = 30
level_move_min = 120
per_level_min = 0
panels_per_position = 3
reposition_min = 15

[hoist]
resource = «hoist»
calendar = «hours»
limits = [«wind»]
load_min = 3
unload_min = 3
speed_m_s = 1.0
acceleration_m_s2 = 1.0
share = 1.0
extension_levels = 2
extension_h = 4

[delivery]
calendar = «hours»
crates_per_truck = 2
late_h = { low = 1, likely = 2, high = 4, shape = "pert" }
late_chance = 0.2
resource = «bay»
unload_min = 30

[family.«flat»]
column = "panels_wide"
set_min = { low = 40, likely = 50, high = 80, shape = "pert", source = «source» }
limits = [«wind»]
crate_panels = 3
handling_break_chance = 0.1
remake_days = 20

[trade.«brackets»]
kind = "gang"
column = "brackets_wide"
unit_min = { low = 20, likely = 30, high = 50, shape = "pert" }
needs = { «fixers» = 1 }
calendar = «hours»
after = [{ on = "handover" }]

[trade.«panels»]
kind = "panels"
families = [«flat»]
needs = { «gang» = 1 }
calendar = «hours»
after = [{ on = «brackets» }, { on = "handover", levels_up = 1 }, { on = «panels», levels_up = -1 }]

[closing_in]
trades = [«panels»]

[mock_up]
start = 2027-03-01
try_days = 1
pass_chance = 0.5
fix_days = 2
most_tries = 3

[activity.«crown»]
lift_min = 60
lifts = 4
calendar = «hours»
after = [{ on = «panels», level = "all" }]

[[risk]]
name = «permit»
chance = 0.25
on = «crown»
delay_days = 7
note = «note»

[contract.«contract»]
level = 3
date = 2027-03-29
damages_per_day = { value = 4, source = «source» }

[cost]
unit = «money»
site_overhead_per_day = { value = 3, source = «source» }

[weather]
record = "record.csv"
record_height_m = 10
utc_offset_h = -5
height_law = "en1991"
site_exposure = "III"
missing_gust_factor = 1.3
generator = "replay"

[setup.«more gangs»]
note = «note»
resource.«gang».count = 3

[candidate.«more fixers»]
note = «note»
resource.«fixers».count = 2

[decision.how_many]
note = «note»
keys = ['resource.«gang».count', 'resource.«crane».count']
values = [2, 3]
"""
LEVELS = "level,zone,height_m,difficulty,handover,delivery,panels_wide,brackets_wide\n" + "".join(
    f"{level},«{zone}»,{4 * level},1.0,2027-03-{level:02d},2027-03-{level:02d},9,20\n"
    for level in range(1, 5)
    for zone in ("north", "east")
)
SHEET = """\
date,what,level,zone,done,note
2027-03-05,«brackets»,1,«north»,all,«note»
2027-03-05,«panels»,1,«north»,4,«note»
2027-03-12,«panels»,1,«north»,9,
2027-03-12,handover,3,,yes,
2027-03-12,«brackets»,1,«east»,all,
2027-03-12,«brackets»,2,«north»,50%,
2027-03-12,mock_up,,,passed,
"""
LOG = """\
what,level,zone,panel,start,finish,unit,outcome,note
«panels»,1,«north»,1,2027-03-04T09:00,2027-03-04T10:00,«unit»,set,«note»
«panels»,1,«north»,2,2027-03-04T10:10,2027-03-04T11:05,«unit»,set,
«panels»,1,«north»,3,2027-03-04T13:10,2027-03-04T14:05,«unit»,set,
«brackets»,1,«north»,,2027-03-01T07:00,2027-03-01T17:00,«unit»,,
"""
PROMISES = """\
id,made,what,level,zone,done,by,who,reason
«first»,2027-03-08,«panels»,1,«north»,all,2027-03-11,«who»,
«second»,2027-03-10,«brackets»,2,«north»,all,2027-03-12,«who»,«reason»
«third»,2027-03-12,«panels»,2,«east»,4,2027-03-24,«who»,
"""
EVENTS = """\
id,what,level,zone,from,to,effect,owner,note
«rain»,«what befell»,,,2027-03-08,2027-03-09,'resource.«hoist»',«owner»,«note»
«late»,«late level»,,,2027-03-03,2027-03-05,"level.""from 3"".handover",«owner»,
"""
DATES = """\
what,level,zone,done
finish,,,2027-06-01
«panels»,1,«north»,2027-03-20
«brackets»,2,«east»,2027-03-25
"""
STUDY = """\
[study]
name = «study»
scenario = "scenario.toml"
responses = ["finish.p80", "finish.mean"]
trials = 4
seed = 1
design = "grid"
keep_trials = true

[factor.gangs]
key = 'resource.«gang».count'
values = [1, 2]

[factor.share]
key = "hoist.share"
values = [0.5, 1.0]
"""
TEXTS = {
    "scenario.toml": SCENARIO,
    "levels.csv": LEVELS,
    "progress.csv": SHEET,
    "log.csv": LOG,
    "promises.csv": PROMISES,
    "events.csv": EVENTS,
    "dates.csv": DATES,
    "study.toml": STUDY,
}
_RECORD = ("--progress", "progress.csv", "--log", "log.csv", "--wind", "wind.csv")
_SIX = ("--trials", "6")
# Every question, in an order in which each finds what it goes on from; «role» stands for its name. Results
# lie in the folder of the question's name.
QUESTIONS: Mapping[str, Sequence[str]] = {
    "check": ("scenario.toml",),
    "weather": ("scenario.toml",),
    "forecast": ("scenario.toml", *_SIX),
    "compare": ("scenario.toml", *_SIX),
    "add": ("scenario.toml", "--trials", "20", "--steps", "1"),
    "explain": ("scenario.toml", *_SIX, "--removals"),
    "bid": ("scenario.toml", *_SIX, "--swing-trials", "1", "--years", "2", "--confidence", "0.8"),
    "baseline": ("scenario.toml", *_SIX, "--dates", "dates.csv", "--graphml", "network.graphml"),
    "use": ("scenario.toml", *_SIX),
    "events": ("scenario.toml", "--trials", "2", "--as", "csv", "--as", "xes", "--as", "parquet"),
    "sheet": ("scenario.toml", *_SIX, "--date", "2027-03-12"),
    "know": ("scenario.toml", "--trials", "40", "--setup", "«more gangs»", "--setup", "base"),
    "choose": ("scenario.toml", "--by", "2027-05-20", "--trials", "200", "--fresh", "100"),
    "update": ("scenario.toml", *_RECORD, *_SIX),
    "ahead": ("scenario.toml", *_RECORD, *_SIX, "--promises", "promises.csv", "--weather", "weather.csv"),
    "delay": ("scenario.toml", *_RECORD, "--trials", "4", "--events", "events.csv"),
    "rates": ("scenario.toml", "--log", "log.csv", "--progress", "progress.csv"),
    "score": ("forecast", "ahead", *_RECORD, "--promises", "promises.csv", "--scenario", "scenario.toml"),
    "sweep": ("study.toml",),
}
NO_FOLDER = ("check",)
ROLES = tuple(dict.fromkeys(role for text in TEXTS.values() for role in _ROLE.findall(text)))


def names_of(words: Sequence[str], *, turn: int) -> dict[str, str]:
    """The name of every role; two roles that have the same word are told apart by a number behind it."""
    rounds = {role: divmod(k + turn, len(words)) for k, role in enumerate(ROLES)}
    least = min(times for times, _ in rounds.values())
    return {
        role: words[place] + (f" {times - least + 1}" if times > least else "")
        for role, (times, place) in rounds.items()
    }


def write_hostile_site(folder: Path, words: Sequence[str], *, turn: int) -> dict[str, str]:
    """Write the site with its record and study into a folder, and its wind; the name of every role."""
    names = names_of(words, turn=turn)
    for file, text in TEXTS.items():
        quoted = csv_word if file.endswith(".csv") else toml_word
        # What stands in single quotes is a dotted key: its inner words are quoted by themselves.
        whole = re.sub("'(.+?)'", lambda key: quoted(_filled(key[1], names, toml_word)), text)  # noqa: B023  called here
        (folder / file).write_text(_filled(whole, names, quoted), encoding="utf-8", newline="")
    for file, text in {"wind.csv": WIND, "weather.csv": FORECAST}.items():
        (folder / file).write_text(text, encoding="utf-8")
    shutil.copy(RECORD, folder / "record.csv")
    return names


def asked(question: str, names: Mapping[str, str]) -> list[str]:
    """The words of the command that asks a question."""
    words = [_ROLE.sub(lambda found: names[found[1]], word) for word in QUESTIONS[question]]
    return [question, *words, *(() if question in NO_FOLDER else ("--out", question))]


def _filled(text: str, names: Mapping[str, str], quoted: Callable[[str], str]) -> str:
    return _ROLE.sub(lambda found: quoted(names[found[1]]), text)


def toml_word(word: str) -> str:
    """A word as TOML quotes it: as JSON does."""
    return json.dumps(word, ensure_ascii=False)


def csv_word(word: str) -> str:
    """A word as a cell of a table (RFC 4180, section 2)."""
    return '"' + word.replace('"', '""') + '"'
