"""Who beats whom, what differs, and what is kept of each: by hand-made proposals."""

import math
import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from armsim.studies.compare import Comparison, beats, differing, entrants_of, ranked, trade_off
from armsim.studies.proposal import Entrant, failure_of, judged, proposal_of
from armsim.studies.single import assess_machine
from tests.report import sample
from tests.studies.proposals import A, B, C, D, entry, failure, proposal


def beaten(*proposals):
    return [(one.label, one.by, one.worse_in) for one in ranked(proposals).beaten]


def test_one_is_beaten_that_is_better_in_nothing_and_worse_in_something():
    assert beaten(A, B, C) == [("c", "b", ("supply_current_peak",))]


def test_those_that_trade_one_thing_for_another_beat_nobody():
    assert beaten(A, B) == []
    assert ranked((A, B)).choice == ("a", "b")


def test_a_failing_one_is_kept_from_the_choice_and_not_beaten_while_it_is_cheaper():
    ranking = ranked((A, B, D))
    assert ranking.beaten == ()
    assert ranking.choice == ("a", "b")


def test_one_that_does_not_arrive_is_worst_in_lift_time_and_in_energy():
    dear = replace(D, values=D.values | {"price": 100.0})
    assert beaten(A, dear) == [
        ("d", "a", ("verdict", "lift_time", "supply_current_peak", "static_margin", "energy_per_cycle", "price"))
    ]


def test_alike_ones_beat_neither_each_other_nor_themselves():
    assert beaten(B, replace(B, label="twin")) == []


def test_what_reads_alike_counts_as_alike():
    near = replace(B, label="near", values=B.values | {"lift_time": 2.0 * (1 + 1e-5)})
    apart = replace(B, label="apart", values=B.values | {"lift_time": 2.0 * (1 + 1e-3)})
    assert beaten(B, near) == []
    assert beaten(B, apart) == [("apart", "b", ("lift_time",))]


def test_the_beater_that_is_named_is_itself_beaten_by_none():
    worse = replace(C, label="e", values=C.values | {"supply_current_peak": 12.0})
    assert [one[:2] for one in beaten(worse, C, B)] == [("e", "b"), ("c", "b")]


def test_a_measure_that_is_not_known_of_all_does_not_count():
    ranking = ranked((A, replace(B, values=B.values | {"price": None})))
    assert ranking.counted == ("lift_time", "supply_current_peak", "static_margin", "energy_per_cycle")
    assert ranking.left_out == ("price",)  # mass is known of none


def test_more_margin_is_better_and_more_mass_is_not():
    light = proposal("light", lift_time=1.0, static_margin=2.0, mass=3.0)
    strong = proposal("strong", lift_time=1.0, static_margin=3.0, mass=4.0)
    assert beaten(light, strong) == []
    assert beaten(light, replace(strong, values=strong.values | {"mass": 3.0})) == [
        ("light", "strong", ("static_margin",))
    ]


def test_no_random_set_has_everyone_beaten_and_beating_is_one_way():
    rng = np.random.default_rng(7)
    for _ in range(30):
        values = rng.integers(1, 4, size=(6, 3)).astype(float)
        several = [proposal(f"p{k}", lift_time=t, supply_current_peak=i, price=c) for k, (t, i, c) in enumerate(values)]
        losers = {one[0] for one in beaten(*several)}
        own = [
            any(np.all(b <= a) and np.any(b < a) for b in values) for a in values
        ]  # the definition, written out anew
        assert losers == {f"p{k}" for k, lost in enumerate(own) if lost}
        assert len(losers) < 6


def test_best_is_told_only_of_those_that_arrive_and_only_where_it_sets_apart():
    best = ranked((A, B, C, D)).best
    assert best["lift_time"] == {"a"}
    assert best["supply_current_peak"] == {"b"}
    assert best["price"] == {"b", "c"}  # d costs less and does not lift
    assert best["static_margin"] == frozenset()  # all alike
    assert best["mass"] == frozenset()  # none known


def test_the_trade_off_keeps_what_no_other_beats_in_both():
    points = [(3.0, 1.0), (1.0, 4.0), (2.0, 2.0), (2.5, 2.0), (1.0, 5.0), (2.0, 2.0)]
    assert trade_off(points) == [1, 2, 5, 0]


def test_one_beats_nobody_whose_measure_it_lacks_only_by_rounding():
    assert beats(A, A, []) == ()


# ---------------------------------------------------------------------------------------------------------- differences


def test_differences_are_keys_that_not_all_have_or_mean_alike():
    one = proposal(
        "one",
        entries=(
            entry("title", "One"),
            entry("arm.length", "1 m", 1.0),
            entry("arm.mass", "5 kg", 5.0),
            entry("controller.when_off", "open", "open"),
            entry("parts_list[0].item", "motor", "motor"),
        ),
    )
    other = proposal(
        "other",
        entries=(
            entry("title", "Other"),
            entry("arm.length", "1000 mm", 1000 * 0.001),
            entry("arm.mass", "6 kg", 6.0),
            entry("controller.when_off", "open", "open"),
            entry("repeat", "2", 2),
        ),
    )
    found = differing((one, other))
    assert [d.key for d in found] == ["arm.mass", "repeat"]
    assert found[0].entries["one"].typed == "5 kg"
    assert found[0].entries["other"].typed == "6 kg"
    assert found[1].entries["one"] is None


def test_nothing_differs_of_one_or_none():
    assert differing(()) == ()
    assert differing((A,)) == ()


# ------------------------------------------------------------------------------------------------- labels and records


def test_labels_are_never_twice_and_never_empty():
    paths = [Path("x/tipper.yaml"), Path("y/tipper.yaml"), Path("Tipper.yml"), Path("tipper-2.yaml"), Path("...yaml")]
    found = [entrant.label for entrant in entrants_of(paths)]
    assert found[:4] == ["tipper", "tipper-2", "Tipper-3", "tipper-2-2"]
    assert len({label.casefold() for label in found}) == 5
    assert all(label and not label.startswith(".") for label in found)


def test_a_comparison_tells_judged_and_failed_apart_in_the_order_given():
    comparison = Comparison(outcomes=(A, failure("x"), B), left=("y",))
    assert [p.label for p in comparison.proposals] == ["a", "b"]
    assert [f.label for f in comparison.failures] == ["x"]


def test_what_is_kept_of_a_run_is_small_and_holds_no_run():
    kept = proposal_of("shift", *sample.repeated())
    assert len(pickle.dumps(kept)) < 150_000
    assert len(pickle.dumps(sample.repeated()[1])) > 5 * len(pickle.dumps(kept))
    for across, up in (kept.course.angle, kept.course.supply, kept.course.margin):
        assert across.base is None
        assert up.base is None


def test_measures_are_those_of_the_run():
    scenario, assessment = sample.lifting()
    values = proposal_of("tipper", scenario, assessment).values
    assert values["lift_time"] == assessment.lift.time
    assert values["supply_current_peak"] == pytest.approx(float(np.max(assessment.run.supply_current)), rel=1e-3)
    assert values["energy_per_cycle"] == assessment.energy.supplied
    assert values["price"] == pytest.approx(41.5 + 2 * 7.25)
    assert values["mass"] is None  # of one part it is not known
    assert values["parts"] == 3


def test_a_repeated_cycle_is_told_by_its_mean_energy_and_shown_by_its_first():
    scenario, assessment = sample.repeated()
    kept = proposal_of("shift", scenario, assessment)
    first = assessment.run.cycles[0]
    assert kept.values["energy_per_cycle"] == pytest.approx(assessment.energy.supplied / sample.REPEATS)
    assert kept.course.angle[0][-1] <= first.duration * (1 + 1e-12)


def test_a_stall_has_neither_lift_time_nor_energy_and_is_judged_all_the_same():
    kept = proposal_of("weak", *sample.stalling())
    assert not kept.arrives
    assert kept.values["lift_time"] is None
    assert kept.values["energy_per_cycle"] is None
    assert kept.values["winding_peak"] is None
    assert kept.verdict == "fail"
    assert kept.course.lift_ends is not None


def test_a_margin_is_available_over_needed_where_anything_is_needed():
    scenario, assessment = sample.lifting()
    angle, margin = proposal_of("tipper", scenario, assessment).course.margin
    curves = assessment.curves
    needed = curves.needed > 0
    assert np.array_equal(angle, curves.angle)
    assert np.allclose(margin[needed] * curves.needed[needed], curves.available[needed])
    assert np.isnan(margin[~needed]).all()
    assert np.nanmin(margin) == pytest.approx(assessment.lift.static_margin, rel=1e-3)


def test_a_check_without_a_run_cannot_be_compared():
    with pytest.raises(ValueError, match="of runs"):
        proposal_of("x", *sample.checked())


def test_a_file_that_is_not_there_becomes_a_failure_with_its_problem(tmp_path):
    found = judged(Entrant(label="gone", source=tmp_path / "gone.yaml"))
    assert (found.status, found.label) == (2, "gone")
    assert found.problems[0].code == "SCN101"


def test_a_fault_of_ours_is_told_as_such():
    found = failure_of(Entrant(label="x", source=Path("x.yaml")), ZeroDivisionError("by zero"))
    assert found.status == 70
    assert found.text == "a fault of armsim itself: ZeroDivisionError: by zero"


def test_a_scenario_built_in_code_is_judged_like_a_file():
    scenario = sample.scenario(sample.tipper())
    found = judged(Entrant(label="built", source=scenario))
    alone = assess_machine(scenario.machine, scenario.plan, scenario.requirements)
    assert found.values["lift_time"] == alone.lift.time
    assert math.isfinite(found.values["static_margin"])
