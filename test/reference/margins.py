"""Margins of control loops, by scipy: reads {"delay_loops": [...], "box": {...}, "rc_ms": ..., "ratios": [...]}.

A delay loop is K (tau_I s + 1) e^(-theta s) / (tau_I s^2) ("integrating") or K e^(-theta s) / s ("first order",
the pole cancelled by the regulator's zero). The box's own loop is taken tick for tick from loop_model.
"""

import json
import sys

import numpy as np
from scipy import optimize

import loop_model


def margins(response, grid):
    """response(w) -> complex L; grid of angular frequencies that holds both crossings. Lowest crossings count."""
    values = response(grid)
    phase = np.unwrap(np.angle(values))
    # unwrap starts anywhere: an integrating loop begins between -90 and -180 degrees, or below -180 with PI.
    phase -= 2 * np.pi * np.round((phase[0] + np.pi) / (2 * np.pi))
    gain = np.abs(values)

    def crossing(curve, level):
        signs = np.sign(curve - level)
        at = np.nonzero((signs[:-1] > 0) & (signs[1:] <= 0))[0][0]
        return grid[at], grid[at + 1]

    def sharper(function, bracket):
        return optimize.brentq(function, *bracket, xtol=1e-12)

    gain_crossing = sharper(lambda w: abs(response(np.array([w]))[0]) - 1, crossing(gain, 1))
    near = np.interp(gain_crossing, grid, phase)
    exact = np.angle(response(np.array([gain_crossing]))[0])
    exact += 2 * np.pi * np.round((near - exact) / (2 * np.pi))
    # Im L changes its sign where the phase passes -180 degrees.
    phase_crossing = sharper(lambda w: response(np.array([w]))[0].imag, crossing(phase, -np.pi))

    def peak(function):
        sampled = function(grid)
        top = int(np.argmax(sampled))
        low, high = grid[max(top - 1, 0)], grid[min(top + 1, len(grid) - 1)]
        best = optimize.minimize_scalar(
            lambda w: -function(np.array([w]))[0], bounds=(low, high), method="bounded", options={"xatol": 1e-9}
        )
        return max(-best.fun, sampled[top])

    return {
        "gm": 1 / abs(response(np.array([phase_crossing]))[0]),
        "pm_deg": float(np.degrees(np.pi + exact)),
        "ms": float(peak(lambda w: np.abs(1 / (1 + response(w))))),
        "mt": float(peak(lambda w: np.abs(response(w) / (1 + response(w))))),
        "gain_crossing_per_s": gain_crossing,
        "delay_margin_s": (np.pi + exact) / gain_crossing,
    }


def delay_loop(loop):
    gain, theta = loop["gain"], loop["theta"]
    if loop["kind"] == "first order":
        return lambda w: gain * np.exp(-1j * w * theta) / (1j * w)
    reset = loop["integral_time"]
    return lambda w: gain * (1j * w * reset + 1) * np.exp(-1j * w * theta) / (reset * (1j * w) ** 2)


def box_loop(box, rc_ms, ratio):
    A, b, c = loop_model.open_loop(box, rc_ms, ratio)
    unit = np.eye(loop_model.STATES)

    def response(w):
        z = np.exp(1j * w * loop_model.TICK_S)
        return np.linalg.solve(z[:, None, None] * unit - A, b[None, :, None])[:, :, 0] @ c

    closed, _ = loop_model.closed_loop(box, rc_ms, ratio)
    closed = closed.copy()
    closed[loop_model.S] = 0
    found = margins(response, np.geomspace(2, 2800, 8000))
    found["slowest_pole"] = float(max(abs(np.linalg.eigvals(closed))))
    # Delay of everything but the PI and the integrator, from the phase at a low frequency.
    w = 0.1
    tick = loop_model.TICK_S
    regulator = box["gain_p_per_s"] + box["gain_i_per_s2"] * tick / (np.exp(1j * w * tick) - 1)
    found["theta_ms"] = float(-np.angle(response(np.array([w]))[0] * 1j * w / regulator / ratio) / w * 1000)
    return found


question = json.load(sys.stdin)
grid = np.geomspace(1e-3, 30, 20000)
print(
    json.dumps(
        {
            "delay_loops": [margins(delay_loop(loop), grid / loop["theta"]) for loop in question["delay_loops"]],
            "box": [box_loop(question["box"], question["rc_ms"], ratio) for ratio in question["ratios"]],
        }
    )
)
