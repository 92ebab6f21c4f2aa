"""The best standoff error that any controller can reach, and that of the box's PI, on one and the same plant.

Plant (all exact, sampled at 1 kHz): loop_model of the reference checks. Speed in, Z an integrator, straight
motion within a tick, ten readings a tick through the RC, their mean.
Sheet (assumption, stated): Gauss-Markov of second order, two equal poles at the corner, so that height and slope
are random and the wave cannot be predicted: d'' + 2 w d' + w^2 d = white.
Noise: white, rms given in mm on the mean of a tick's readings (1 V rms at 4 V/mm is 0.25 mm).

The bound sees the raw mean of each tick and knows where Z is (the box counts its steps); the PI sees the same
through its half-mains mean and its smoothing. Both are judged by the exact covariance (discrete Lyapunov
equation), by the rms standoff error at the ends of the ticks and the rms acceleration (change of speed a tick).
"""

import pathlib
import re
import sys
from dataclasses import dataclass

import numpy as np
from scipy import linalg, optimize

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "test" / "reference"))

import loop_model as loop  # noqa: E402

TICK_S = loop.TICK_S


def default_box():
    """Default parameters of the box, out of the table that the module is built from."""
    table = (ROOT / "firmware" / "control" / "table.gen.ts").read_text(encoding="utf8")
    block = table[table.index("DEFAULTS") :]
    return {name: float(value) for value, name in re.findall(r"^ {2}(\S+), // (\w+)$", block, re.MULTILINE)}


@dataclass(frozen=True)
class Problem:
    name: str
    sheet_rms_mm: float
    sheet_corner_per_s: float
    noise_rms_mm: float
    rc_ms: float = 0.47

    def sheet(self):
        """d, d' a tick later = F (d, d') + white of covariance Q."""
        w = self.sheet_corner_per_s
        F = linalg.expm(np.array([[0, 1], [-w * w, -2 * w]]) * TICK_S)
        stationary = np.diag([self.sheet_rms_mm**2, (self.sheet_rms_mm * w) ** 2])
        return F, stationary - F @ stationary @ F.T


WAVE_PER_S = 2 * np.pi * 50 / 250  # 250 mm at 50 mm/s
WAVE_RMS_MM = 1.77  # 2.5 mm of amplitude as a sine
PROBLEMS = (
    Problem("4 V/mm, 1 V rms per tick", WAVE_RMS_MM, WAVE_PER_S, 0.25),
    Problem("1 V/mm, 0.3 V rms per tick", WAVE_RMS_MM, WAVE_PER_S, 0.3),
)


def covariance(F, noise):
    if max(abs(np.linalg.eigvals(F))) >= 1:
        raise ValueError("unstable")
    return linalg.solve_discrete_lyapunov(F, noise)


def rms(row, X):
    return float(np.sqrt(row @ X @ row))


def pi_covariance(problem, box):
    """rms error in mm and rms acceleration in mm/s2 of the box's PI."""
    A, c = loop.closed_loop(box, problem.rc_ms)
    sheet, white = problem.sheet()
    n = loop.STATES
    F = np.zeros((n + 1, n + 1))  # the last state is the sheet's speed
    F[:n, :n] = A
    F[:n, loop.S] += c * sheet[0, 0]
    F[:n, n] = c * sheet[0, 1]
    F[n, loop.S], F[n, n] = sheet[1]
    G = np.zeros((n + 1, 2))
    G[:n, 0], G[n, 1] = c, 1
    noise = G @ white @ G.T
    noise[loop.Y, loop.Y] += problem.noise_rms_mm**2
    X = covariance(F, noise)
    error = np.zeros(n + 1)
    error[loop.Z], error[loop.S] = 1, -1
    acceleration = F[loop.U].copy()
    acceleration[loop.U] -= 1
    return rms(error, X), rms(acceleration / TICK_S, X)


def tuned_box(problem, box):
    """The PI with the least rms error: gains by Nelder-Mead, the rest as in the box."""

    def with_gains(logs):
        kp, ki = np.exp(logs)
        return {**box, "gain_p_per_s": float(kp), "gain_i_per_s2": float(ki)}

    def cost(logs):
        try:
            return pi_covariance(problem, with_gains(logs))[0]
        except ValueError:
            return 1e3

    best = optimize.minimize(cost, np.log([20.0, 100.0]), method="Nelder-Mead", options={"xatol": 1e-4, "fatol": 1e-9})
    return with_gains(best.x)


class Bound:
    """Kalman filter and state feedback for the least mean of e^2 + weight a^2; a, the acceleration, is the input."""

    # Sheet side: height, speed, capacitor, mean of the tick. Z side: place and speed, known without error.
    H = np.array([[0.0, 0.0, 0.0, 1.0]])

    def __init__(self, problem):
        self.problem = problem
        self.sheet, white = problem.sheet()
        rc, mean = loop.rc_over_a_tick(problem.rc_ms)
        F, G = np.zeros((4, 4)), np.zeros((4, 2))
        F[:2, :2], G[:2] = self.sheet, np.eye(2)
        for place, row in ((2, rc), (3, mean)):
            F[place, 2] = row[0]
            F[place, 0] += row[1]
            F[place, :2] += row[2] * self.sheet[0]
            G[place, 0] = row[2]
        self.F, self.white = F, G @ white @ G.T
        R = np.array([[problem.noise_rms_mm**2]])
        ahead = linalg.solve_discrete_are(F.T, self.H.T, self.white, R)
        self.kalman = ahead @ self.H.T / (self.H @ ahead @ self.H.T + R)
        # Height of the sheet as known after the reading, rms mm.
        self.known_rms_mm = float(np.sqrt((ahead - self.kalman @ self.H @ ahead)[0, 0]))

    def feedback(self, weight):
        """a = -row (z, u, d, d')."""
        F = np.zeros((4, 4))
        F[0, 0], F[0, 1], F[1, 1] = 1, TICK_S, 1
        F[2:, 2:] = self.sheet
        B = np.array([[TICK_S**2], [TICK_S], [0], [0]])
        error = np.array([[1.0, 0.0, -1.0, 0.0]])
        S = linalg.solve_discrete_are(F, B, error.T @ error, np.array([[weight]]))
        return (np.linalg.solve(B.T @ S @ B + weight, B.T @ S @ F))[0]

    def matrices(self, row, kalman):
        """Closed loop over (z, u, sheet side, its estimate before the reading), noise covariance, row of a."""
        n = 2 + 4 + 4
        take = np.zeros((4, n))  # the estimate after the reading
        take[:, 6:] = np.eye(4) - kalman @ self.H
        take[:, 2:6] = kalman @ self.H
        a = np.zeros(n)
        a[:2] = -row[:2]
        a -= row[2:] @ take[:2]
        a_noise = -row[2:] @ kalman[:2, 0]
        F, g = np.zeros((n, n)), np.zeros(n)
        F[0, 0], F[0, 1], F[1, 1] = 1, TICK_S, 1
        F[0] += TICK_S**2 * a
        F[1] += TICK_S * a
        g[0], g[1] = TICK_S**2 * a_noise, TICK_S * a_noise
        F[2:6, 2:6] = self.F
        F[6:] = self.F @ take
        g[6:] = (self.F @ kalman)[:, 0]
        noise = np.outer(g, g) * self.problem.noise_rms_mm**2
        noise[2:6, 2:6] += self.white
        return F, noise, a, a_noise

    def covariance(self, row, kalman=None):
        F, noise, a, a_noise = self.matrices(row, self.kalman if kalman is None else kalman)
        X = covariance(F, noise)
        error = np.zeros(len(F))
        error[0], error[2] = 1, -1
        return rms(error, X), float(np.sqrt(a @ X @ a + (a_noise * self.problem.noise_rms_mm) ** 2))

    def at_acceleration(self, acceleration_mm_s2):
        """The weight with which the best controller has this rms acceleration; its error and acceleration."""

        def excess(log_weight):
            return np.log(self.covariance(self.feedback(np.exp(log_weight)))[1] / acceleration_mm_s2)

        log_weight = optimize.brentq(excess, np.log(1e-13), np.log(1e-2), xtol=1e-10)
        weight = float(np.exp(log_weight))
        return weight, *self.covariance(self.feedback(weight))
