"""The world of the comparison loop: plate, kerf map, motor, head, firing, arc, noise, readings. See loop.py."""

import math
import random

READINGS = 10
FEED_MM_S = 50.0


def sine_of_turns(turns):
    x = turns - math.floor(turns)
    sign = 1.0
    if x >= 0.5:
        x -= 0.5
        sign = -1.0
    if x > 0.25:
        x = 0.5 - x
    x *= 4
    square = x * x
    return sign * x * (1.5707963 - square * (0.6415927 - 0.0707963 * square))


class Plate:
    TILT, WAVE_MM, WAVE_PER_MM = 0.02, 2.5, 1 / 250
    GROWTH_MM, CELL_MM = 0.00003, 20.0
    TANGENT_SQUARE = 2 * 0.0005 / (WAVE_MM * (2 * math.pi * WAVE_PER_MM) ** 2)

    def __init__(self):
        self.nodes = [0.0] * 256
        self.growth = 0
        self.x = math.inf
        self.height = self.slope = 0.0

    def surface(self, x):
        self.growth += 1
        dx = x - self.x
        if self.growth >= 32 or dx * dx > self.TANGENT_SQUARE:
            self.lay(x)
            dx = 0.0
        return self.height + self.slope * dx

    def lay(self, x):
        u = x / self.CELL_MM
        column = int(u)
        part = u - column
        amount = self.growth * self.GROWTH_MM / (part * part + (1 - part) * (1 - part))
        self.nodes[column] += amount * (1 - part)
        self.nodes[column + 1] += amount * part
        self.growth = 0
        left, right = self.nodes[column], self.nodes[column + 1]
        turns = x * self.WAVE_PER_MM
        self.x = x
        self.height = self.TILT * x + self.WAVE_MM * sine_of_turns(turns) + left + part * (right - left)
        swing = self.WAVE_MM * 2 * math.pi * self.WAVE_PER_MM * sine_of_turns(turns + 0.25)
        self.slope = self.TILT + swing + (right - left) / self.CELL_MM


class Kerf:
    """Metal removed, in cells of 0.25 mm; what is fresh enters after three kerf widths of path."""

    STEP_MM, RADIUS_MM, FRESH_MM = 0.199, 0.75, 4.5
    PROBES = [(math.cos(math.radians(25 * n - 75)), math.sin(math.radians(25 * n - 75))) for n in range(7)]

    def __init__(self):
        self.cells = set()
        self.ring = []
        self.x = -math.inf
        self.missing = 0.0

    def ahead(self, x):
        if x - self.x < self.STEP_MM:
            return self.missing
        self.x = x
        while self.ring and self.ring[0] < x - self.FRESH_MM:
            old = int(self.ring.pop(0) * 4)
            for row in range(-3, 4):
                self.cells.add((old, row))
        found = 0
        for along, across in self.PROBES:
            if (int((x + self.RADIUS_MM * along) * 4), int(self.RADIUS_MM * across * 4)) in self.cells:
                found += 1
        self.missing = found / 7
        self.ring.append(x)
        return self.missing


class World:
    TAP = 1 / 120
    RC_SHARE = 1 - math.exp(-0.1 / 0.47)
    ISOLATION_SHARE = 1 - math.exp(-2 * math.pi * 20 * 0.1)
    COUNTS_PER_V = 4096 / 3.3
    WHITE = math.sqrt(10) / math.sqrt(3 * (256 * 256 - 1) / 12) / 120
    OWN = 0.7 / math.sqrt((256 * 256 - 1) / 12)

    def __init__(self, seed, x):
        self.random = random.Random(seed)
        self.plate = Plate()
        self.kerf = Kerf()
        self.x, self.feed = x, FEED_MM_S
        self.surface = self.plate.surface(x)
        self.motor = self.carriage = self.surface + 1.5
        self.speed = self.lost = self.on_ms = self.ticks = self.contacts = 0
        self.relay = self.supply_contact = self.breakaway = True
        self.waited = self.pressed = self.bounce = self.stretched = 0
        self.touch = self.in_contact = self.top = False
        self.feed_V = self.missing = self.slow_V = 0.0
        self.true_V = 118.0
        self.standoff, self.torch = 1.5, self.carriage
        self.tap = self.isolated = 118.0 * self.TAP
        self.wait = 500.0 * self.random.expovariate(1)
        self.impulse = [0.0] * READINGS
        self.struck = False
        self.ripple, self.ripple_before, self.ripple_twice = 0.0, -0.1256, 2 * math.cos(2 * math.pi * 0.01)
        self.inverter, self.inverter_before, self.inverter_twice = 0.0, -0.007, 2 * math.cos(2 * math.pi * 0.003)
        self.readings = [0] * READINGS
        self.take(118.0, 118.0)

    def advance(self, steps, trigger, owned, x, feed):
        self.ticks += 1
        moving = x != self.x
        self.x, self.feed = x, feed
        if not owned:
            steps = 0
        if steps != 0 or self.speed != 0:
            self.motor += self.follow(steps) / 400
        self.motor = max(-30.0, min(62.0, self.motor))
        self.carriage = max(self.motor - 0.005, min(self.motor + 0.005, self.carriage))
        self.top = self.carriage >= 60
        self.surface = self.plate.surface(x)
        self.head(moving)
        self.fire(trigger)
        before = self.true_V + self.slow_V
        self.burn()
        self.slow_V = self.slow_V * 0.96907 + 0.02467 * self.gaussian()
        self.disturb()
        self.take(before, self.true_V + self.slow_V)
        touching = self.standoff == 0
        if touching and not self.in_contact:
            self.contacts += 1
        self.in_contact = touching

    def head(self, moving):
        overlap = self.surface - self.carriage
        if overlap < 0:
            self.torch, self.standoff = self.carriage, -overlap
            if self.pressed:
                self.pressed, self.bounce = 0, 6
        else:
            between = self.x / 100 - math.floor(self.x / 100)
            give = min(overlap, 0.2 * 4 * between * (1 - between))
            self.torch, self.standoff = self.surface - give, 0.0
            if not self.pressed and overlap - give >= 0.8:
                self.pressed, self.bounce = 1, 6
            if overlap - give >= 6 or (moving and overlap >= 2):
                self.breakaway = False
        self.touch = self.pressed == 1
        if self.bounce > 0:
            self.bounce -= 1
            if 0 < self.bounce < 5 and self.random.random() < 0.5:
                self.touch = not self.touch

    def fire(self, trigger):
        if trigger == self.relay:
            self.waited = 0
        elif self.waited >= (5 if trigger else 8):
            self.relay = trigger
            self.waited = 0
        else:
            self.waited += 1

    def follow(self, wanted):
        highest = math.floor(min(self.speed + 4.2, 24))
        lowest = math.ceil(max(self.speed - 4.2, -24))
        made = highest if wanted > highest else lowest if wanted < lowest else wanted
        self.speed = made
        self.lost += abs(wanted - made)
        return made

    def burn(self):
        self.on_ms += 1
        slow = max(-1.0, 1 - self.feed / 50)
        self.feed_V += 0.0198 * (8 * slow - self.feed_V)
        self.missing += 0.3935 * (self.kerf.ahead(self.x) - self.missing)
        length = max(0.0, self.standoff + (self.feed_V + 25 * self.missing) / 4)
        over = length - 10
        counted = 10 + over / (1 + over / 10) if over > 0 else length
        self.stretched = self.stretched + 1 if length > 15 else 0
        self.true_V = max(0.0, 118 + 4 * (counted - 1.5) + 0.01 + self.on_ms * (0.05 / 60000))

    def gaussian(self):
        bits = self.random.getrandbits(32)
        return ((bits & 255) + ((bits >> 8) & 255) + ((bits >> 16) & 255) + (bits >> 24) - 510) / 147.8

    def disturb(self):
        if self.struck:
            self.impulse = [0.0] * READINGS
            self.struck = False
        self.wait -= 1
        if self.wait <= 0:
            self.wait += 500 * self.random.expovariate(1)
            self.impulse[self.random.getrandbits(16) % READINGS] = 50.0 if self.random.random() < 0.5 else -50.0
            self.struck = True

    def take(self, before, after):
        draw = self.random.getrandbits
        readings, impulse = self.readings, self.impulse
        gain, white, own = self.TAP, self.WHITE, self.OWN
        share, isolation_share = self.RC_SHARE, self.ISOLATION_SHARE
        keep, isolation_keep = 1 - share, 1 - isolation_share
        rise = (after - before) * gain / READINGS
        value = before * gain - white * 382.5
        tap, isolated = self.tap, self.isolated
        ripple, ripple_before, ripple_twice = self.ripple, self.ripple_before, self.ripple_twice
        inverter, inverter_before, inverter_twice = self.inverter, self.inverter_before, self.inverter_twice
        zero = 124.5 - own * 127.5
        for n in range(READINGS):
            bits = draw(32)
            value += rise
            three = (bits & 255) + ((bits >> 8) & 255) + ((bits >> 16) & 255)
            ripple, ripple_before = ripple_twice * ripple - ripple_before, ripple
            inverter, inverter_before = inverter_twice * inverter - inverter_before, inverter
            arc = value + white * three + gain * ripple + gain * impulse[n]
            tap = keep * tap + share * arc
            isolated = isolation_keep * isolated + isolation_share * tap
            counts = int(self.COUNTS_PER_V * isolated + zero + own * (bits >> 24) + inverter)
            readings[n] = 0 if counts < 0 else 4095 if counts > 4095 else counts
        self.tap, self.isolated = tap, isolated
        self.ripple, self.ripple_before = ripple, ripple_before
        self.inverter, self.inverter_before = inverter, inverter_before
