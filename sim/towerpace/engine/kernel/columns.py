"""What stands where in the two arrays of the kernel: `plan`, which never changes, and `site`, one trial's.

Both are flat arrays of whole numbers made of regions, and most regions are rows of a few columns. The head
of `plan` says where every region begins, of `site` too. So `plan[plan[STEPS] + step * STEP_COLUMNS + MODE]`
would be the mode of a step. Starts of lists are places in the array itself. What `site` holds from
WORK_SPACE on need not be set out at minute 0; the record days of the trial come last.
"""

from typing import cast

import numpy as np

NONE = -1

# Head of `plan`: sizes, then where the regions of `plan` and of `site` begin.
N_STEPS, HORIZON, BITS, N_PLACES, N_POOLS, N_WINDOWS = range(6)
STEPS, POOLS, LINES, TURNS, WINDOWS, SPANS, LIMITS = range(6, 13)
STORIES, STOCKS, PLACES, QUEUES, CURSORS = range(13, 18)
WORK_SPACE, FUTURE, AFRESH, STACK, GAINED, ROWS, SITE_SIZE = range(18, 25)
PLAN_HEAD = 25

# A step of the plan. Of its lists a row holds the start, the next row the end (there is one row more).
WINDOW, MODE, EXPECTED, PLACE, LINE, FIRST_COME, TURN, NEEDS, GIVES, AFTER, BEFORE = range(11)
STEP_COLUMNS = 11
NEED_COLUMNS, GIVE_COLUMNS = 2, 3  # pool, quantity (, the step that took the units, or NONE)

# A pool of the plan: units at minute 0; in `site` the starts of its watchers, of those set aside and of its
# positioned units; room for watchers, number of positioned units; start of its moves (NONE: no places).
UNITS, WATCHERS, PUT_ASIDE, PLACED, WATCH_ROOM, N_PLACED, MOVES = range(7)
POOL_COLUMNS = 7

# A line of waiting steps: start of its keys in `site`, and room for them.
KEYS, LINE_ROOM = range(2)
LINE_COLUMNS = 2

# A window: its calendar, its open spans without weather [from, to), and its limits [from, to).
CALENDAR, FIRST_SPAN, END_SPAN, FIRST_LIMIT, END_LIMIT = range(5)
WINDOW_COLUMNS = 5

# An open span of a calendar, and the end of the shift it lies in. [min]
FROM, TO, SHIFT_END = range(3)
SPAN_COLUMNS = 3

# A limit: number of its variable, minutes to wait after a bad hour, whether it is bad below the bound (else
# above), whether the day's wind factor applies. Its ratio and bound are numbers of the air.
VARIABLE, RESTART, BELOW, WIND = range(4)
LIMIT_COLUMNS = 4

# Head of `site`: how full the heap of what is to come, the heap of steps to be looked at, the stack of
# released steps and the list of pools that gained are; a mark of fault; hours of the project and the record.
N_FUTURE, N_AFRESH, N_STACK, N_GAINED, FAULT, N_HOURS, RECORD_HOURS = range(7)
SITE_HEAD = 7

# A step's story.
READY, STARTED, FINISHED, ENABLER, MISSING, WATCHED, HELD, BEHIND, WORK_MIN, DATE_MIN, SKIPPED = range(11)
STORY_COLUMNS = 11

# The stock of a pool: free units, last giver and its minute, whether it gained in this instant, number of
# its watchers, and of those set aside until its next gain.
FREE, LAST_GIVER, GIVEN_AT, HAS_GAINED, WATCHING, ASIDE = range(6)
STOCK_COLUMNS = 6

# A positioned unit: place, and whether it is idle.
AT, IDLE = range(2)
UNIT_COLUMNS = 2

# What happens to a step at a minute to come. They are numpy's integers, like the minute and the move below:
# numba compiles a function anew for each plain number that is handed to it.
_NUMBERS = cast("list[int]", list(np.arange(4)))
ENDS, BECOMES_READY, OPENS, LOOKED_AT = _NUMBERS
KIND_BITS = 2
MINUTE_0 = NO_MOVE = _NUMBERS[0]

HOUR_MIN, DAY_H = 60, 24
