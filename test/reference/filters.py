"""Filters by scipy: reads {"boxcars": [{"weights", "rate_Hz", "frequencies_Hz"}], "rcs": [{"tau_ms", "period_ms"}]}."""

import json
import sys

import numpy as np
from scipy import signal

question = json.load(sys.stdin)


def magnitudes(boxcar):
    frequencies = np.array(boxcar["frequencies_Hz"])
    weights = np.array(boxcar["weights"])
    _, response = signal.freqz(weights / weights.sum(), 1, worN=2 * np.pi * frequencies / boxcar["rate_Hz"])
    return np.abs(response).tolist()


def held_input_rc(rc):
    tau = rc["tau_ms"]
    # dx/dt = (u - x)/tau, input held over a period.
    system = tuple(np.array([[value]]) for value in (-1 / tau, 1 / tau, 1.0, 0.0))
    a, b, _, _, _ = signal.cont2discrete(system, rc["period_ms"], method="zoh")
    return {"keep": a[0, 0], "share": b[0, 0]}


print(
    json.dumps(
        {
            "boxcars": [magnitudes(boxcar) for boxcar in question["boxcars"]],
            "rc": [held_input_rc(rc) for rc in question["rcs"]],
        }
    )
)
