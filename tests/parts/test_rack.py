"""Rack and drum against worked answers."""

import math

import pytest

from armsim.parts.rack import drum_stage, guide_efficiency, pinion_radius, rack_stage


def rack(**more):
    return rack_stage(
        **{
            "teeth": 19, "module": 1.5e-3, "pressure_angle": math.radians(20.0), "face_width": None,
            "efficiency": 0.96, "density": 7850.0, "name": "rack", **more,
        }
    )  # fmt: skip


def test_travel_of_a_turn() -> None:
    """m 1.5, 19 teeth: 89.5354 mm a turn, with a helix of 15 deg 92.6939 mm."""
    assert math.tau * pinion_radius(19, 1.5) == pytest.approx(89.5354, abs=5e-5)
    assert math.tau * pinion_radius(19, 1.5, math.radians(15.0)) == pytest.approx(92.6939, abs=5e-5)
    assert math.tau / rack().reduction == pytest.approx(0.0895354, abs=5e-8)


def test_force_of_a_torque() -> None:
    """3.7 N*m at an efficiency of 0.96: 249.263 N."""
    stage = rack()
    assert 3.7 * stage.reduction * stage.law.static()[0] == pytest.approx(249.263, abs=5e-4)


def test_back_driving_torque_of_a_force() -> None:
    """F d (2 - 1/eta)/2: 249.263 N on 28.5 mm with 0.96 give 3.404 N*m."""
    stage = rack()
    assert 249.263 * stage.law.static()[1] / stage.reduction == pytest.approx(3.40400, abs=5e-5)


def test_the_guide_takes_its_share_of_the_separating_force() -> None:
    """Of 1000 N at 20 deg 363.970 N press on the guide; a friction of 0.12 takes 43.6764 N of them."""
    forward, reverse = guide_efficiency(1.0, 0.12, math.radians(20.0))
    assert 1000.0 * forward == pytest.approx(956.3236, abs=5e-5)
    mesh = 1000.0 * reverse  # 1000 N on the carriage leave F at the mesh, F + 0.0436764 F = 1000 N
    assert mesh * 1.0436764 == pytest.approx(1000.0, abs=5e-5)


def test_the_pinion_is_a_steel_disc() -> None:
    """pi/32 * 7850 * 0.02 * 0.0285^4 = 1.01690e-5 kg*m2."""
    assert rack(face_width=0.02).input_inertia == pytest.approx(1.01690e-5, rel=1e-5)


def drum(**more):
    given = {"diameter": 60e-3, "rope_diameter": 4e-3, "efficiency": 0.95, "name": "drum"}
    return drum_stage(**{**given, **more})


def test_a_drum_winds_at_the_middle_of_its_rope() -> None:
    """60 mm and 4 mm: 64 mm across the middle of the rope, 201.062 mm a turn; 8 N*m pull 237.5 N at 0.95."""
    stage = drum()
    assert math.tau / stage.reduction == pytest.approx(0.201062, abs=5e-7)
    assert 8.0 * stage.reduction * stage.law.static()[0] == pytest.approx(237.5, rel=1e-12)


def test_layers_count_at_their_mean() -> None:
    """Three layers of 4 mm on 60 mm: 64, 72 and 80 mm, so 72 mm in the mean and 80 mm outside."""
    stage = drum(layers=3)
    assert 2.0 / stage.reduction == pytest.approx(0.072, rel=1e-12)
    assert stage.details["outer_pitch_diameter"] == pytest.approx(0.080, rel=1e-12)
