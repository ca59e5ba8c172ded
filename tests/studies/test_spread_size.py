"""A million machines: what is made of them takes no more memory than a few, and the figures are those of all."""

import subprocess
import sys

import numpy as np
import pytest

SCRIPT = """
import resource
import sys
import numpy as np
from armsim.report.spread_contract import spread_table
from armsim.studies.spread import judged, sampling_of
from tests.scenario import texts

LIMIT = "{static_margin: {min: 1.5}, lift_time: {max: 1.8 s}}"
scenario = texts.read(uncertainty="{payload: 20 %}", requirements=LIMIT)

class Guessed:
    # a row costs nothing here: what is measured is what a study keeps, and what it makes of that
    def numbered(self, names=None):
        for start, stop in sampling.spans(2**16):
            row = np.arange(start, stop)
            time, zero = 1.0 + (row * 7919 % 2**20) / 2**20, np.zeros(stop - start)
            columns = {"reached": zero + 1.0, "failed": zero, "margin lift_time": 1.8 - time}
            yield start, {name: columns.get(name, time) for name in names or sampling.question.columns}

sampling = sampling_of(scenario, count=int(sys.argv[1]))
found = judged(sampling, Guessed())
(time,) = [row for row in found.percentiles if row.name == "lift_time"]
lines = next(len(part["number"]) for part in spread_table(found))
print(found.together.count, found.lifting.met, found.single[0].met, *time.values)
print(lines, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def measured(count):
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(count)], capture_output=True, text=True, check=True, timeout=120
    )
    told, size = done.stdout.splitlines()
    return list(map(float, told.split())), *map(int, size.split())


def test_a_million_machines_take_hardly_more_than_a_few_and_far_less_than_a_gibibyte():
    (count, lifted, in_time, *times), lines, kibibytes = measured(2**20)
    assert count == lifted == 2**20
    # the times are all multiples of 2^-20 from 1 up to below 2, each once
    assert in_time == pytest.approx(0.8 * 2**20, abs=2)
    assert times == pytest.approx(1.0 + np.array([0.05, 0.5, 0.95]) * (1.0 - 2.0**-20), abs=1e-12)
    assert lines == 4096
    assert kibibytes < 2**20
    _, _, few = measured(2**10)
    assert kibibytes - few < 120 * 2**10  # a million rows of 14 columns in single precision are 56 MiB by themselves
