"""What the ledger costs with two laps: building it, and reading 10,000 settings, in full simulations."""

from __future__ import annotations

from statistics import median
from time import perf_counter

import numpy as np

import overlapsim
from overlapsim.control import switched
from overlapsim.control.ledger import build_ledger
from overlapsim.questions.search import search_span, with_offset

SETTINGS = 10_000


def ledger_costs(scenario: overlapsim.Scenario, settings: int = 5) -> tuple[float, float, float]:
    """Building and reading as shares of one full simulation, and the largest difference of the error.

    Nothing is kept from one measurement to the next: every one begins with the drive.
    """
    low, high = search_span([scenario])
    known = overlapsim.simulate(scenario)
    building, reading, whole, miss = [], [], [], []
    offsets = np.linspace(low, high, SETTINGS)
    for offset in np.random.default_rng(7).uniform(low, high, settings):
        switched.forget()
        begun = perf_counter()
        run = overlapsim.simulate(with_offset(scenario, float(offset)))
        whole.append(perf_counter() - begun)
        switched.forget()
        begun = perf_counter()
        ledger = build_ledger(scenario, low, high, known=known)
        building.append(perf_counter() - begun)
        begun = perf_counter()
        ledger.curve.at(offsets)
        reading.append(perf_counter() - begun)
        full = run.areas["combined_m2"]
        miss.append(abs(ledger.combined.at(np.array([offset]))[0, 0] / full - 1))
    return median(building) / median(whole), median(reading) / median(whole), max(miss)
