"""The box's PI against the best possible controller: `python3 test/bench/lqg.py [--json]`. Needs scipy.

For each problem of lqg_model: the default gains, and gains tuned for the least rms standoff error, each beside
the bound at the same rms acceleration of Z.
"""

import argparse
import json

import lqg_model


def compare(problem, bound, name, box):
    error_mm, acceleration_mm_s2 = lqg_model.pi_covariance(problem, box)
    weight, bound_mm, bound_acceleration_mm_s2 = bound.at_acceleration(acceleration_mm_s2)
    return {
        "name": name,
        "gain_p_per_s": box["gain_p_per_s"],
        "gain_i_per_s2": box["gain_i_per_s2"],
        "error_rms_mm": error_mm,
        "acceleration_rms_mm_s2": acceleration_mm_s2,
        "bound_rms_mm": bound_mm,
        "bound_acceleration_rms_mm_s2": bound_acceleration_mm_s2,
        "weight": weight,
        "ratio": error_mm / bound_mm,
    }


def yardstick():
    box = lqg_model.default_box()
    results = []
    for problem in lqg_model.PROBLEMS:
        bound = lqg_model.Bound(problem)
        results.append(
            {
                "problem": problem.name,
                "sheet_rms_mm": problem.sheet_rms_mm,
                "sheet_corner_per_s": problem.sheet_corner_per_s,
                "noise_rms_mm_per_tick": problem.noise_rms_mm,
                "sheet_known_rms_mm": bound.known_rms_mm,
                "controllers": [
                    compare(problem, bound, "default PI", box),
                    compare(problem, bound, "tuned PI", lqg_model.tuned_box(problem, box)),
                ],
            }
        )
    return results


def table(results):
    lines = []
    for result in results:
        lines.append(
            f"{result['problem']} ({result['noise_rms_mm_per_tick']:g} mm); sheet {result['sheet_rms_mm']:g} mm rms, "
            f"double pole at {result['sheet_corner_per_s']:.3f}/s"
        )
        lines.append(f"  {'':12}{'Kp 1/s':>9}{'Ki 1/s2':>9}{'a mm/s2':>9}{'error mm':>10}{'bound mm':>10}{'ratio':>7}")
        for one in result["controllers"]:
            lines.append(
                f"  {one['name']:12}{one['gain_p_per_s']:9.1f}{one['gain_i_per_s2']:9.1f}"
                f"{one['acceleration_rms_mm_s2']:9.0f}{one['error_rms_mm']:10.4f}{one['bound_rms_mm']:10.4f}"
                f"{one['ratio']:7.3f}"
            )
    lines.append("error, bound and acceleration (a) are rms; the bound is a Kalman filter and LQR with the same a")
    return "\n".join(lines)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")
    results = yardstick()
    print(json.dumps(results) if parser.parse_args().json else table(results))


if __name__ == "__main__":
    main()
