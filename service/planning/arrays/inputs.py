"""What compiled code is told about one vehicle's day: its road, what is offered, and the rules."""

from __future__ import annotations

from typing import NamedTuple

from service.planning.arrays.compiled import Array

# Positions in the rules of a labelling: limits of the vehicle, the problem's, and of the search.
PAYLOAD, BODY, SHIFT_END, TIPS_MADE, SMALLEST, TIPS, LATE, OVERTIME, DRIVE = range(9)
RESULTS, BOUND, SHED, CUTOFF, ELEMENTARY, BEAM, EFFORT, ASKED, PARTS, GRID = range(9, 19)
# By so much a way may be longer than one with a tip on it, if no longer than that with its stop.
ASTRAY = 20
# Price of a second of waiting, and of one before the first lot besides.
WAIT, IDLE = 21, 22
LEAVE = 19  # price of a kilogram that is left where it lies; NEVER: that is no choice

# Columns of the candidates: destination, cost and time in and out, its own rules, and whether its
# use is tracked over the whole plan (a number from 0) or not (-1), what its delay costs at least,
# and kilograms that a search allows there at most.
DEST, CIN, TIN, COUT, TOUT, FIX, ACCEPT, OPEN, CLOSE, TIP, OVER, NEED, TRACK, LATER, CAP = range(15)
# So much at one tip heeds what is asked of the vehicle, and which asking it is.
ASK, ASK_BIT = 15, 16
# Which row of ``Road.until`` says how long it takes what, or -1: as long as it is open.
UNTIL = 17
# No tip begins after the one and before the other.
PAUSE, RESUME = 18, 19
CANDIDATE_COLUMNS = 20
NO_CAP = 1_000_000_000

# Columns of the jobs, and of the start.
KG, LITRES, BIT, FIRST_S, LAST_S, SERVICE = range(6)
START_S, START_KG, START_LITRES, START_BITS = range(4)

FAR = 2_000_000_000_000_000_000
NEVER = 4_000_000_000_000_000_000
# Columns of ``Road.pace``: price of a second of delay, or -1 if lateness counts on the earliest
# day; when the gap starts on that day; with -1, what lateness costs then, and how much later the
# gap may start before it costs more.
PACE_SLOPE, PACE_CLOCK, PACE_BASE, PACE_SPARE = range(4)
LATE_STEP_S = 300
LATE_STEPS = 240
# By so much ways rounded to whole metres and seconds may break the triangle inequality: each of
# three is wrong by half a metre at most, and seconds are rounded from rounded metres.
ROUNDING_M = 1
ROUNDING_S = 2


class Road(NamedTuple):
    """A vehicle's gaps and what lies near them; costs in units, times in seconds."""

    start: Array  # clock, kilograms, litres, bits aboard
    jobs: Array  # a row a job
    legs: Array  # a row a gap: cost, seconds
    offsets: Array  # where each gap's candidates begin in ``near``
    near: Array  # a row a candidate
    pair_offsets: Array
    pairs: Array  # metres and seconds from candidate to candidate of a gap
    late: Array  # least cost of lateness to go, by gap and clock
    pace: Array  # what a delay costs, a row a gap
    until: Array  # the last second at which a tip may begin, by bit; a row for places alike


class Offer(NamedTuple):
    """What each candidate of a road offers."""

    price: Array  # units per kilogram within its room
    beyond: Array  # and above
    room: Array  # kilograms; -1 closes it
    toll_kg: Array  # a tip of so many kilograms or more costs a toll, a column a step
    toll: Array  # all of it from there on, units
