"""Draws dividers and error sums with every cause spread evenly over its limits. JSON in, JSON out."""
import json
import sys

import numpy

question = json.load(sys.stdin)
divider = question["divider"]
draw = numpy.random.default_rng(2026)
COUNT = 1_000_000
limit = divider["tolerance_percent"] / 100


def resistors(ohm):
    return ohm * (1 + draw.uniform(-limit, limit, COUNT))


upper = sum(resistors(divider["top_kohm"]) for _ in range(int(divider["top_resistors"])))
lower = resistors(divider["bottom_kohm"])
ratio = 1 + upper * (1 / lower + 1 / question["input_kohm"])
errors = sum(draw.uniform(-one, one, COUNT) for one in question["terms_V"])
json.dump(
    {
        "likely_percent": 200 * ratio.std() / ratio.mean(),
        "sum_mm": 2 * errors.std() / question["slope_V_per_mm"],
    },
    sys.stdout,
)
