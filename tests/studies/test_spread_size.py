"""A million machines: what is kept of them fits in less than a gibibyte, whoever evaluates them."""

import subprocess
import sys

SCRIPT = """
import resource
import numpy as np
from armsim.studies.spread import judged, sampling_of
from tests.scenario import texts

LIMIT = "{static_margin: {min: 1.5}, lift_time: {max: 1.8 s}}"
scenario = texts.read(uncertainty="{payload: 20 %, efficiency: 5 %, motor_constant: 10 %}", requirements=LIMIT)

def guessed(sampling):
    # a row costs nothing here: what is measured is what a study keeps, and what it makes of that
    for start, stop in sampling.spans(4096):
        payload, efficiency, constant = sampling.values(start, stop).T
        time = payload / efficiency / 8.0
        columns = {name: time for name in sampling.question.columns}
        zero = np.zeros(stop - start)
        yield start, columns | {"reached": zero + 1.0, "failed": zero, "margin lift_time": 1.8 - time}

sampling = sampling_of(scenario, count=2**20)
found = judged(sampling, guessed(sampling))
print(found.together.count, found.lifting.met, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def test_a_million_machines_take_less_than_a_gibibyte():
    done = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, text=True, check=True, timeout=120)
    count, lifted, kibibytes = map(int, done.stdout.split())
    assert count == lifted == 2**20
    assert kibibytes < 2**20
