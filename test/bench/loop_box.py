"""The box of the comparison loop: what the control module does in a tick of follow. See loop.py."""

import math

READINGS = 10
TICK_S = 0.001
FEED_MM_S = 50.0
SWITCHES = ("touch", "breakaway", "top", "hold")


class Box:
    SPIKE, RELEASE, LONGEST = 155, 31, 40
    KP, KI, TRACKING_S, SMOOTHING = 22.0, 160.0, 0.1, 1 / 6
    SLOPE, TARGET_V, GAIN_V, ZERO = 4.0, 118.0, 0.09668, 124
    UP, DOWN, MOST_CHANGE, STEPS, PLAY = 40.0, 10.0, 1.5, 400.0, 5.0

    def __init__(self):
        level = int(118 / self.GAIN_V) + self.ZERO
        self.ring = [level] * 128
        self.head = self.set_aside = self.believe = self.stuck = self.arc_count = 0
        self.last = -1
        self.sum = level * 100
        self.history = [118.0] * 16
        self.past = self.z = self.steady = 0
        self.error = self.integral = self.velocity = self.pending = self.rate = self.measured = 0.0
        self.feed = self.feed_slow = self.running = FEED_MM_S
        self.slowness = self.path = self.sheet = self.stride_start = self.stride = 0.0
        self.xx = self.xy = self.yy = self.xz = self.yz = 0.0
        self.slope_x = self.slope_y = self.mean_V = self.target_V = self.stride_x = self.stride_y = 0.0
        self.permit = self.trigger = self.armed = self.key_was_off = True
        self.switches = {name: [name == "breakaway", 3 if name == "breakaway" else 0] for name in SWITCHES}
        self.off_ms = self.rest_ms = self.reversed_ms = self.saturated_ms = self.arc_ms = self.saturated = 0
        self.wrong_start = self.wrong_travel = self.trim = 0.0
        self.fault = None
        self.output = [0.0] * 19

    def tick(self, readings, lines, x_steps, y_steps):
        for name, state in self.switches.items():
            state[1] = min(3, state[1] + 1) if lines[name] else max(0, state[1] - 1)
            state[0] = True if state[1] >= 3 else False if state[1] <= 0 else state[0]
        if not lines["key"]:
            self.key_was_off, self.armed = True, False
        elif self.key_was_off:
            self.armed = True
        self.read(readings)
        self.read_feed(x_steps, y_steps)
        inside = 60 <= self.mean_V <= 190
        self.arc_count = min(3000, self.arc_count + 100) if inside else max(0, self.arc_count - 30)
        self.trim += max(-0.002, min(0.002, 0.0 - self.trim))
        self.target_V = self.TARGET_V + self.trim + 7 * self.slowness
        measured = self.mean_V / self.SLOPE
        error = measured - self.target_V / self.SLOPE
        self.error += (error - self.error) * self.SMOOTHING
        self.rate += ((measured - self.measured) / TICK_S - self.rate) / 11
        self.measured = measured
        self.check(lines)
        self.permit = self.arc_count > 0 and not self.holds()
        steps = self.regulate()
        self.learn(error)
        self.check_way()
        steps = self.guard(steps, lines)
        self.publish(steps)
        return steps

    def check(self, lines):
        near_zero = -25 < self.mean_V < 25
        self.off_ms = 0 if self.trigger else min(500, self.off_ms + 1)
        self.rest_ms = 0 if self.off_ms < 500 or near_zero else self.rest_ms + 1
        self.reversed_ms = self.reversed_ms + 1 if self.trigger and self.mean_V < -5 else 0
        self.saturated_ms = self.saturated_ms + 1 if self.saturated * 2 >= READINGS else 0
        self.arc_ms = self.arc_ms + 1 if self.trigger and self.arc_count > 0 else 0
        if self.rest_ms >= 20:
            self.fault = "voltage at rest"
        elif not lines["stop chain"]:
            self.fault = "stop chain"
        elif not self.switches["breakaway"][0]:
            self.fault = "breakaway"
        elif self.reversed_ms >= 10 or self.saturated_ms >= 5 or self.stuck >= 500:
            self.fault = "reading"
        elif self.arc_ms > 600000:
            self.fault = "arc too long"

    def check_way(self):
        size = abs(self.error)
        if size < 0.6 or self.error * self.velocity >= 0:
            self.wrong_travel = 0.0
            return
        if self.wrong_travel == 0:
            self.wrong_start = size
        self.wrong_travel += abs(self.velocity) * TICK_S
        if self.wrong_travel > 0.5 and size > self.wrong_start + 0.25:
            self.fault = "wrong way"

    def read(self, readings):
        ring, head, total, ticks = self.ring, self.head, self.sum, 0
        reference = total // 100
        self.saturated = 0
        for raw in readings:
            self.stuck = min(10000, self.stuck + 1) if raw == self.last else 0
            self.last = raw
            if raw <= 0 or raw >= 4095:
                self.saturated += 1
            taken = self.reject(raw, reference)
            ticks += taken
            total += taken - ring[(head - 100) & 127]
            ring[head & 127] = taken
            head += 1
        self.head, self.sum = head & 127, total
        self.tick_V = (ticks / READINGS - self.ZERO) * self.GAIN_V
        self.mean_V = (total / 100 - self.ZERO) * self.GAIN_V
        self.past = (self.past + 1) & 15
        self.history[self.past] = self.mean_V

    def reject(self, raw, reference):
        if self.believe > 0:
            self.believe -= 1
            return raw
        distance = raw - reference if raw > reference else reference - raw
        if self.set_aside == 0:
            if distance <= self.SPIKE:
                return raw
        elif distance <= self.RELEASE:
            self.set_aside = 0
            return raw
        elif self.set_aside >= self.LONGEST:
            self.set_aside = 0
            self.believe = 128
            return raw
        self.set_aside += 1
        return reference

    def read_feed(self, x_steps, y_steps):
        self.x_mm, self.y_mm = x_steps / 160, y_steps / 160
        self.step_mm = math.sqrt(self.x_mm * self.x_mm + self.y_mm * self.y_mm)
        self.feed += (self.step_mm / TICK_S - self.feed) / 13
        self.feed_slow += (self.feed - self.feed_slow) / 81
        self.slowness += (max(-1.0, min(1.0, 1 - self.feed / 50)) - self.slowness) / 51
        self.running = max(self.running, self.feed_slow)
        self.steady = min(150, self.steady + 1) if abs(self.feed - self.feed_slow) < self.feed_slow * 0.05 else 0
        if self.steady >= 150:
            self.running = self.feed_slow
        self.path += self.step_mm

    def holds(self):
        rise = self.mean_V - self.history[(self.past - 8) & 15]
        longer = (self.mean_V - self.target_V) / self.SLOPE
        crossing = longer > 0 and (rise / self.SLOPE * 125 > 90 or longer > 3)
        return crossing or self.feed < 0.9 * self.running

    def regulate(self):
        wanted = self.KP * self.error + self.integral
        down = 0.0 if self.z <= -400 * (0.7 + 0.12 * self.path) else self.DOWN
        limited = -self.UP if wanted < -self.UP else down if wanted > down else wanted
        change = -limited - self.velocity
        if abs(change) > self.MOST_CHANGE:
            self.velocity += self.MOST_CHANGE if change > 0 else -self.MOST_CHANGE
        else:
            self.velocity = -limited
        self.integral += (self.KI * self.error + (-self.velocity - wanted) / self.TRACKING_S) * TICK_S
        self.integral = max(-self.UP, min(self.UP, self.integral))
        self.pending += self.velocity * TICK_S * self.STEPS
        if self.pending > self.PLAY:
            steps = int(self.pending - self.PLAY)
        elif self.pending < -self.PLAY:
            steps = int(self.pending + self.PLAY)
        else:
            steps = 0
        self.pending -= steps
        return steps

    def learn(self, error):
        self.sheet += (self.z / self.STEPS - error - self.sheet) / 31
        self.stride_x += self.x_mm
        self.stride_y += self.y_mm
        self.stride += self.step_mm
        if self.stride < 0.5:
            return
        keep = max(0.0, min(1.0, 1 - self.stride / 10))
        rise = self.sheet - self.stride_start
        self.xx = self.xx * keep + self.stride_x * self.stride_x
        self.xy = self.xy * keep + self.stride_x * self.stride_y
        self.yy = self.yy * keep + self.stride_y * self.stride_y
        self.xz = self.xz * keep + self.stride_x * rise
        self.yz = self.yz * keep + self.stride_y * rise
        self.stride_x = self.stride_y = self.stride = 0.0
        self.stride_start = self.sheet
        xx, yy = self.xx + 0.1, self.yy + 0.1
        determinant = xx * yy - self.xy * self.xy
        self.slope_x = max(-0.12, min(0.12, (self.xz * yy - self.yz * self.xy) / determinant))
        self.slope_y = max(-0.12, min(0.12, (self.yz * xx - self.xz * self.xy) / determinant))

    def guard(self, steps, lines):
        total = self.velocity + self.pending + self.integral + self.error + self.rate + self.target_V
        total += self.slope_x + self.slope_y + self.feed + self.mean_V
        if total - total != 0:
            steps = 0
            self.fault = "not finite"
        fire = self.armed and self.fault is None and lines["key"] and lines["request"] and lines["stop chain"]
        self.trigger = fire and not lines["overrun"]
        if not self.trigger:
            self.permit = False
        steps = max(-17, min(17, steps))
        if self.z + steps < -24000:
            steps = -24000 - self.z
        self.z += steps
        return steps

    def publish(self, steps):
        output = self.output
        output[0], output[1], output[2] = steps, self.trigger + 2 * self.permit + 8, 7
        output[3], output[4], output[5] = 0, 0, self.fault
        output[6], output[7], output[8] = 0, self.z, 0.0
        output[9], output[10], output[11] = self.mean_V, self.target_V, self.error
        output[12], output[13], output[14] = self.velocity, self.feed, self.slope_x
        output[15], output[16] = self.slope_y, 7.0
        output[17], output[18] = (self.arc_count > 0) + 2 * (self.set_aside > 0), self.tick_V
