"""Is the yardstick right? Simulates what lqg_model computes, and tries to beat its bound. Reads {} and writes JSON.

The simulation is written as assignments, tick by tick, with a generator of its own; nothing is shared with the
matrices but the filter constants.
"""

import json
import pathlib
import sys

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "bench"))

import lqg_model  # noqa: E402
from lqg import yardstick  # noqa: E402

RUNS, TICKS, SETTLE = 400, 7000, 3000
TICK_S = 0.001


class Plant:
    """RUNS sheets side by side, each somewhere in its wave with the torch above it."""

    def __init__(self, problem, seed):
        self.problem = problem
        self.random = np.random.default_rng(seed)
        self.F, white = problem.sheet()
        self.root = np.linalg.cholesky(white)
        self.share = 1 - np.exp(-0.1 / problem.rc_ms)
        self.sheet = self.random.standard_normal((2, RUNS)) * problem.sheet_rms_mm
        self.sheet[1] *= problem.sheet_corner_per_s
        self.z = self.sheet[0]
        self.u, self.rc, self.error = (np.zeros(RUNS) for _ in range(3))

    def advance(self, u):
        """One tick with speed u: the mean of its ten readings, with noise."""
        before = self.error
        self.acceleration = (u - self.u) / TICK_S
        self.u = u
        self.z = self.z + u * TICK_S
        self.sheet = self.F @ self.sheet + self.root @ self.random.standard_normal((2, RUNS))
        self.error = self.z - self.sheet[0]
        total = np.zeros(RUNS)
        for k in range(1, 11):
            self.rc = self.rc + self.share * (before + (self.error - before) * k / 10 - self.rc)
            total += self.rc
        return total / 10 + self.problem.noise_rms_mm * self.random.standard_normal(RUNS)


def mean_squares(plant, controller):
    """controller(reading, last speed) -> speed. rms error and acceleration over all runs after settling."""
    reading = np.zeros(RUNS)
    errors = accelerations = 0.0
    for tick in range(TICKS):
        reading = plant.advance(controller(reading, plant))
        if tick >= SETTLE:
            errors += np.mean(plant.error**2)
            accelerations += np.mean(plant.acceleration**2)
    return float(np.sqrt(errors / (TICKS - SETTLE))), float(np.sqrt(accelerations / (TICKS - SETTLE)))


def pi(box):
    past = [np.zeros(RUNS)] * 10
    filtered, integral = np.zeros(RUNS), np.zeros(RUNS)

    def controller(reading, _):
        nonlocal filtered, integral
        past.pop(0)
        past.append(reading)
        filtered = filtered + (sum(past) / 10 - filtered) / (1 + box["smoothing_ms"])
        speed = -(box["gain_p_per_s"] * filtered + integral)
        integral = integral + box["gain_i_per_s2"] * filtered * TICK_S
        return speed

    return controller


def lqg(bound, weight):
    """The Kalman filter looks at the reading less what the known Z alone would read."""
    row = bound.feedback(weight)
    estimate = np.zeros((4, RUNS))
    known_rc, last_z = np.zeros(RUNS), np.zeros(RUNS)

    def controller(reading, plant):
        nonlocal estimate, known_rc, last_z
        known = np.zeros(RUNS)
        for k in range(1, 11):
            known_rc = known_rc + plant.share * (last_z + (plant.z - last_z) * k / 10 - known_rc)
            known += known_rc / 10
        last_z = plant.z
        # The reading is Z less sheet.
        innovation = (known - reading) - estimate[3]
        estimate = estimate + bound.kalman * innovation
        acceleration = -(row[0] * plant.z + row[1] * plant.u + row[2] * estimate[0] + row[3] * estimate[1])
        estimate = bound.F @ estimate
        return plant.u + acceleration * TICK_S

    return controller


def beaten_by(bound, weight):
    """Cost e^2 + weight a^2 of neighbours of the best controller over its own; below 1 would disprove it."""
    row = bound.feedback(weight)

    def cost(feedback, kalman):
        error, acceleration = bound.covariance(feedback, kalman)
        return error**2 + weight * acceleration**2

    best = cost(row, bound.kalman)
    trials = []
    for place in range(4):
        for factor in (0.9, 0.98, 1.02, 1.1):
            changed_row, changed_kalman = row.copy(), bound.kalman.copy()
            # Place and height act as a difference: changed apart they would not follow a sheet at all.
            if place < 2:
                changed_row[[place, place + 2] if place == 0 else [place]] *= factor
                trials.append(cost(changed_row, bound.kalman) / best)
            changed_kalman[place] *= factor
            trials.append(cost(row, changed_kalman) / best)
    return trials


def main():
    json.load(sys.stdin)
    problem = lqg_model.PROBLEMS[0]
    box = lqg_model.default_box()
    bound = lqg_model.Bound(problem)
    error, acceleration = lqg_model.pi_covariance(problem, box)
    weight, bound_error, bound_acceleration = bound.at_acceleration(acceleration)
    print(
        json.dumps(
            {
                "yardstick": yardstick(),
                "box": {name: box[name] for name in ("gain_p_per_s", "gain_i_per_s2", "smoothing_ms")},
                "pi": {"computed": [error, acceleration], "simulated": mean_squares(Plant(problem, 1), pi(box))},
                "bound": {
                    "computed": [bound_error, bound_acceleration],
                    "simulated": mean_squares(Plant(problem, 2), lqg(bound, weight)),
                },
                "neighbours": beaten_by(bound, weight),
            }
        )
    )


main()
