from collections import Counter

import numpy as np

from armsim.studies.pool import Best


def test_the_best_are_kept_in_order_and_gone_on_with_where_they_ended() -> None:
    rng = np.random.default_rng(3)
    first, second = rng.integers(0, 20, 1000).astype(float), rng.integers(0, 5, 1000).astype(float)
    number = rng.permutation(1000)
    everyone = sorted(zip(first.tolist(), second.tolist(), number.tolist(), strict=True))
    seen: list[int] = []
    beyond = None
    while True:
        best = Best(130, beyond)
        for k in range(0, 1000, 77):
            best.add(first[k : k + 77], second[k : k + 77], number[k : k + 77])
        pool = best.pool()
        seen += pool.number.tolist()
        if not pool.cut:
            break
        beyond = (float(pool.first[-1]), float(pool.second[-1]), int(pool.number[-1]))
    assert seen == [number for _, _, number in everyone]
    assert max(Counter(seen).values()) == 1
