"""The height loop, linearised and sampled once a tick, as matrices.

One tick of the box at n: the mean of its ten readings is there, the regulator sets the speed u, Z moves evenly
until n + 1, the sheet moves evenly too, and the ten readings of that interval go through the RC one by one.

    x = [z, s, rc, y, y1 ... y9, ef, I, u, d, p, q]      all in mm, mm/s

z torch, s sheet, rc what the capacitor stands at, y mean of the last ten readings, y1... its forerunners,
ef error behind the low-pass, I integrator, u speed. d, p, q follow what the leads pick up of the mains, so that
it can be taken out: a slow mean, and a swing with the one a quarter of a period behind it, which turn by the
mains' angle in each tick and are pulled to what the two did not foresee. Written from the notes and the equations
in the head of the regulator's source, not from its code: matrices instead of assignments.
"""

import numpy as np

TICK_S = 0.001
READINGS = 10
Z, S, RC, Y = 0, 1, 2, 3
TAPS = 4  # y1 ... y9
EF, I, U = 13, 14, 15
SLOW, SWING, QUARTER = 16, 17, 18
STATES = 19
# Lags of 20 and 250 ms: the slow mean; amplitude and phase of the swing, of which a pull goes half into each.
SLOW_SHARE = TICK_S / 0.020
SWING_SHARE = 2 * TICK_S / 0.250


def rc_over_a_tick(rc_ms):
    """The RC over ten readings whose input goes straight from e0 to e1.

    Returns rows (by rc, e0, e1) for the new rc and for the mean of the ten. Held-input step: 1 - exp(-T/tau).
    """
    share = 1 - np.exp(-(1 / READINGS) / rc_ms) if rc_ms > 0 else 1.0
    row = np.array([1.0, 0.0, 0.0])
    mean = np.zeros(3)
    for k in range(1, READINGS + 1):
        part = k / READINGS
        row = (1 - share) * row + share * np.array([0.0, 1 - part, part])
        mean += row / READINGS
    return row, mean


def regulator(box):
    """Rows over x for ef, the wanted downward speed w, and I, after the regulator of this tick (50 Hz mean)."""
    assert box["mains_Hz"] == 50, "the mean of ten ticks is half a period of 50 Hz"
    share = 1 / (1 + box["smoothing_ms"])
    ef = share * without_pickup(box)[0]
    ef[EF] = 1 - share
    wanted = box["gain_p_per_s"] * ef
    wanted[I] += 1
    integral = box["gain_i_per_s2"] * TICK_S * ef
    integral[I] += 1
    return ef, wanted, integral


def without_pickup(box):
    """Rows over x for the mean of half a period less what is picked up, and for the new d, p and q."""
    swing, quarter, slow = np.zeros(STATES), np.zeros(STATES), np.zeros(STATES)
    turn = 2 * np.pi * box["mains_Hz"] * TICK_S
    swing[[SWING, QUARTER]] = np.cos(turn), -np.sin(turn)
    quarter[[SWING, QUARTER]] = np.sin(turn), np.cos(turn)
    mean = -swing
    mean[Y] = 0.1
    mean[TAPS:EF] = 0.1
    slow[SLOW] = 1
    unforeseen = mean - slow
    return mean, slow + SLOW_SHARE * unforeseen, swing + SWING_SHARE * unforeseen, quarter


def world(rc_ms, slope_ratio):
    """x' = F x + b u + c s' for the parts that are not the regulator's; slope_ratio is true over believed V/mm."""
    new_rc, mean = rc_over_a_tick(rc_ms)
    F = np.zeros((STATES, STATES))
    b = np.zeros(STATES)
    c = np.zeros(STATES)
    F[Z, Z] = 1
    b[Z] = TICK_S
    c[S] = 1
    for place, row, gain in ((RC, new_rc, 1.0), (Y, mean, slope_ratio)):
        F[place, RC] = gain * row[0]
        F[place, Z] = gain * (row[1] + row[2])
        F[place, S] = -gain * row[1]
        b[place] = gain * row[2] * TICK_S
        c[place] = -gain * row[2]
    F[TAPS, Y] = 1
    for tap in range(TAPS + 1, EF):
        F[tap, tap - 1] = 1
    return F, b, c


def closed_loop(box, rc_ms, slope_ratio=1.0):
    """x' = A x + B s': the whole loop."""
    ef, wanted, integral = regulator(box)
    A, b, c = world(rc_ms, slope_ratio)
    A = A.copy()
    A[EF], A[I] = ef, integral
    _, A[SLOW], A[SWING], A[QUARTER] = without_pickup(box)
    A[U] = -wanted
    return A + np.outer(b, -wanted), c


def open_loop(box, rc_ms, slope_ratio=1.0):
    """x' = A x + B u, w = C x: from the speed that Z gets to the speed that the regulator asks back."""
    ef, wanted, integral = regulator(box)
    A, b, _ = world(rc_ms, slope_ratio)
    A = A.copy()
    A[S, S] = 1  # the sheet stands
    A[EF], A[I] = ef, integral
    _, A[SLOW], A[SWING], A[QUARTER] = without_pickup(box)
    return A, b, wanted
