"""The simulated loop in plain Python, for comparison: `python3 test/bench/loop.py`.

A straight cut in follow with every part of the world on, written as the host and the module do it, part by part:
table (profile, place, step counts); plate by tangent planes and growth by heat, kerf map, motor with play, head,
firing, arc with feed effect and wear, white and slow noise, two ripples, impulses, RC, isolation, converter, ten
readings a tick; debouncing, spike rejection, mean over half a mains period, arc OK, feed, target, checks, hold
tests, PI with back-calculation, slope fit, steps, guard, outputs; and a record of the tick.
Left out are faults of the world, corners, touch-off, strike and pierce, which a straight cut does not meet.
Prints {"simulated_s_per_s", "standoff_error_rms_mm", "simulated_s"}; time is processor time, the median of three.
"""

import json
import math
import time

from loop_box import SWITCHES, TICK_S, Box
from loop_world import FEED_MM_S, World

SECONDS = 10
ROWS = 1000
START_MM = 40.0
NAMES = ("key", "request", "stop chain", "supply", "reset", "overrun")


class Table:
    """One straight move, long enough: accelerate at 500 mm/s2, then the programmed feed."""

    ACCELERATION, LENGTH_MM = 500.0, 2000.0

    def __init__(self):
        # The cut begins at full feed.
        self.time_s = self.accelerate_s = FEED_MM_S / self.ACCELERATION
        self.accelerate_mm = FEED_MM_S * 0.5 * self.accelerate_s
        self.duration_s = 60.0
        self.x_mm = START_MM
        self.y_mm = 100.0
        self.x_count, self.y_count = self.count(self.x_mm), self.count(self.y_mm)
        self.path_mm = self.progress = self.remaining_s = 0.0
        self.corner_mm = math.inf
        self.feed_mm_s = FEED_MM_S
        self.x_steps = self.y_steps = 0

    @staticmethod
    def count(place_mm):
        return math.floor(place_mm * 160 + 0.5)

    def advance(self, permit):
        if not permit:
            self.feed_mm_s = max(0.0, self.feed_mm_s - self.ACCELERATION * TICK_S)
            return
        self.time_s += TICK_S
        if self.time_s < self.accelerate_s:
            self.feed_mm_s = self.ACCELERATION * self.time_s
            travelled_mm = self.feed_mm_s * 0.5 * self.time_s
        else:
            self.feed_mm_s = FEED_MM_S
            travelled_mm = self.accelerate_mm + FEED_MM_S * (self.time_s - self.accelerate_s)
        travelled_mm -= self.accelerate_mm
        self.x_mm = START_MM + travelled_mm
        self.y_mm = 100.0 + 0.0 * travelled_mm
        self.path_mm = travelled_mm
        x_count, y_count = self.count(self.x_mm), self.count(self.y_mm)
        self.x_steps, self.y_steps = x_count - self.x_count, y_count - self.y_count
        self.x_count, self.y_count = x_count, y_count
        self.remaining_s = self.duration_s - self.time_s
        self.progress = 1 - self.remaining_s / self.duration_s
        self.corner_mm = min(self.path_mm + self.LENGTH_MM, self.LENGTH_MM - self.path_mm)


def record(columns, row, world, table, lines, output):
    values = (
        sum(lines.values()), world.readings[9], table.x_steps, table.y_steps, *output[:8], *output[9:18],
        table.x_mm, table.y_mm, table.feed_mm_s, table.path_mm, table.corner_mm, table.progress, table.remaining_s,
        world.standoff, world.surface, world.torch, world.true_V, 1, world.relay, world.missing > 0, 0,
        world.contacts, world.lost,
    )  # fmt: skip
    for column, value in zip(columns, values):
        column[row] = value


def simulate(seed):
    """The standoff error of a straight cut, rms mm, after the first second."""
    table = Table()
    world, box = World(seed, START_MM), Box()
    lines = dict.fromkeys((*NAMES, *SWITCHES), False)
    lines.update({"key": True, "request": True, "stop chain": True})
    columns = [[0.0] * ROWS for _ in range(38)]
    squares = 0.0
    for tick in range(SECONDS * ROWS):
        lines["touch"], lines["breakaway"], lines["top"] = world.touch, world.breakaway, world.top
        lines["supply"] = world.supply_contact
        steps = box.tick(list(world.readings), lines, table.x_steps, table.y_steps)
        record(columns, tick % ROWS, world, table, lines, box.output)
        # A hold would take the permit from nobody: only a lost arc or a fault does.
        table.advance(box.trigger)
        world.advance(steps, box.trigger, True, table.x_mm, table.feed_mm_s)
        if tick >= ROWS:
            squares += (world.standoff - 1.5) ** 2
    if box.fault is not None:
        raise SystemExit(f"the straight cut ended with a fault: {box.fault}")
    return math.sqrt(squares / ((SECONDS - 1) * ROWS))


def main():
    times, error = [], 0.0
    for _ in range(3):
        began = time.process_time()
        error = simulate(1)
        times.append(time.process_time() - began)
    rate = SECONDS / sorted(times)[1]
    print(json.dumps({"simulated_s_per_s": rate, "standoff_error_rms_mm": error, "simulated_s": SECONDS}))


if __name__ == "__main__":
    main()
