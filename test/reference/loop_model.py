"""The height loop, linearised and sampled once a tick, as matrices.

One tick of the box at n: the mean of its ten readings is there, the regulator sets the speed u, Z moves evenly
until n + 1, the sheet moves evenly too, and the ten readings of that interval go through the RC one by one.

    x = [z, s, rc, y, y1 ... y9, ef, I, u]      all in mm, mm/s

z torch, s sheet, rc what the capacitor stands at, y mean of the last ten readings, y1... its forerunners,
ef error behind the low-pass, I integrator, u speed. Written from control.md and the equations in the head of
the regulator's source, not from its code: matrices instead of assignments.
"""

import numpy as np

TICK_S = 0.001
READINGS = 10
Z, S, RC, Y = 0, 1, 2, 3
TAPS = 4  # y1 ... y9
EF, I, U = 13, 14, 15
STATES = 16


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
    ef = np.zeros(STATES)
    ef[Y] = share / 10
    ef[TAPS:EF] = share / 10
    ef[EF] = 1 - share
    wanted = box["gain_p_per_s"] * ef
    wanted[I] += 1
    integral = box["gain_i_per_s2"] * TICK_S * ef
    integral[I] += 1
    return ef, wanted, integral


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
    A[U] = -wanted
    return A + np.outer(b, -wanted), c


def open_loop(box, rc_ms, slope_ratio=1.0):
    """x' = A x + B u, w = C x: from the speed that Z gets to the speed that the regulator asks back."""
    ef, wanted, integral = regulator(box)
    A, b, _ = world(rc_ms, slope_ratio)
    A = A.copy()
    A[S, S] = 1  # the sheet stands
    A[EF], A[I] = ef, integral
    return A, b, wanted
