"""What stands where in the two arrays of the kernel: `plan`, which never changes, and `site`, one trial's.

Both are flat arrays of whole numbers made of regions, and most regions are rows of a few columns. The head
of `plan` says where every region begins, of `site` too. So `plan[plan[STEPS] + step * STEP_COLUMNS + MODE]`
would be the mode of a step, and `site[plan[STARTED] + step]` the minute it started. Starts of lists are
places in the array itself. What `site` holds from WORK_SPACE on need not be set out at minute 0; the record
days of the trial come last.
"""

from typing import cast

import numpy as np

NONE = -1

# Head of `plan`: sizes, then where the regions of `plan` and of `site` begin. From READY to BEHIND, and from
# WORKS to SKIPS, a region holds one number of each step: its stamps and what it waits for; the draw.
N_STEPS, HORIZON, BITS, N_PLACES, N_POOLS, N_WINDOWS, N_CROWDS, FUTURE_ROOM = range(8)
STEPS, POOLS, LINES, TURNS, WINDOWS, SPANS, LIMITS, CROWDS, CLASSES, MEMBERS = range(8, 18)
READY, STARTED, FINISHED, ENABLER, MISSING, WATCHED, HELD, BEHIND = range(18, 26)
STOCKS, PLACES, QUEUES, CURSORS, TURNOUTS, ALARMS, TREES = range(26, 33)
WORK_SPACE, WORKS, DATES, SKIPS, FUTURE, AFRESH, STACK, GAINED, SINCE, ROWS, SITE_SIZE = range(33, 44)
PLAN_HEAD = 44

# A step of the plan. Of its lists a row holds the start, the next row the end (there is one row more).
WINDOW, MODE, EXPECTED, PLACE, LINE, FIRST_COME, TURN, NEEDS, GIVES, AFTER, MEMBER = range(11)
STEP_COLUMNS = 11
NEED_COLUMNS, GIVE_COLUMNS = 2, 3  # pool, quantity (, the step that took the units, or NONE)

# A pool of the plan: units at minute 0; in `site` the starts of its watchers, of those set aside and of its
# positioned units; room for watchers, number of positioned units; start of its moves (NONE: no places);
# in `site` the starts of its crowds that are not empty and of its marks, and room for marks.
UNITS, WATCHERS, PUT_ASIDE, PLACED, WATCH_ROOM, N_PLACED, MOVES, CROWDED, MARKS, MARK_ROOM = range(10)
POOL_COLUMNS = 10

# A crowd (`crowds`): its pool, window, classes [from, to), first member; number of leaves and start of its
# tree in `site`; start of its fits in `site`.
POOL, CROWD_WINDOW, FIRST_CLASS, END_CLASS, FIRST_MEMBER, LEAVES, TREE, FITS = range(8)
CROWD_COLUMNS = 8

# A class of a crowd: minutes that must fit, and the crowd. A member: its crowd, class within it, and key.
MINUTES, CLASS_CROWD = range(2)
CLASS_COLUMNS = 2
MEMBER_CROWD, MEMBER_CLASS, MEMBER_KEY = range(3)
MEMBER_COLUMNS = 3

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

# The stock of a pool: free units, last giver and its minute, whether it gained in this instant, number of
# its watchers, and of those set aside until its next gain. Of its crowds: how many are not empty, whether
# a window of one opened in this instant, key before which its members found it short in this instant, counter
# of its gains and of looks at the windows, its value at the last gain, number of marks.
FREE, LAST_GIVER, GIVEN_AT, HAS_GAINED, WATCHING, ASIDE = range(6)
N_CROWDED, HAS_OPENED, SHORT_TO, TICK, GAIN_TICK, N_MARKS = range(6, 12)
STOCK_COLUMNS = 12

# How a crowd stands: smallest key waiting; minute and tick of the last look at its window, number of classes
# that fitted then, number of fits. A fit: how many classes could start, and the tick.
FIRST_KEY, SEEN_AT, SEEN_TICK, FITTING, N_FITS = range(5)
TURNOUT_COLUMNS = 5
FIT_CLASSES, FIT_TICK = range(2)
FIT_COLUMNS = 2

# A mark of a pool: tick of a gain, key before which members were looked at after it, and who had given last.
MARK_TICK, MARK_TO, MARK_GIVER = range(3)
MARK_COLUMNS = 3

# A positioned unit: place, and whether it is idle.
AT, IDLE = range(2)
UNIT_COLUMNS = 2

# What happens to a step at a minute to come. They are numpy's integers, like the minute and the move below:
# numba compiles a function anew for each plain number that is handed to it.
_NUMBERS = cast("list[int]", list(np.arange(5)))
ENDS, BECOMES_READY, OPENS, LOOKED_AT, RINGS = _NUMBERS
KIND_BITS = 3
MINUTE_0 = NO_MOVE = _NUMBERS[0]

HOUR_MIN, DAY_H = 60, 24
NOBODY = cast("int", np.int64(2**62))  # greater than any key and any class
