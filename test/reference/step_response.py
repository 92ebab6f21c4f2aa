"""A step of the sheet, answered by the linear loop of loop_model: reads a list of
{"box", "rc_ms", "slope_ratio", "step_mm", "ticks"}, writes for each the standoff error and the speed, tick by tick.
"""

import json
import sys

import numpy as np
from scipy import signal

import loop_model as loop


def answer(case):
    A, c = loop.closed_loop(case["box"], case["rc_ms"], case["slope_ratio"])
    # What is looked at: standoff error and speed at the end of the tick, so one row of A later than the state.
    error = np.zeros(loop.STATES)
    error[loop.Z], error[loop.S] = 1, -1
    speed = np.zeros(loop.STATES)
    speed[loop.U] = 1
    rows = np.array([error @ A, speed @ A])
    through = np.array([[error @ c], [speed @ c]])
    sheet = np.full(case["ticks"], case["step_mm"])
    system = signal.dlti(A, c[:, None], rows, through, dt=loop.TICK_S)
    _, out, _ = signal.dlsim(system, sheet)
    return {"error_mm": out[:, 0].tolist(), "velocity_mm_s": out[:, 1].tolist()}


print(json.dumps([answer(case) for case in json.load(sys.stdin)]))
