"""Proposals made by hand."""

from pathlib import Path

import numpy as np

from armsim.checks.assessment import Requirement
from armsim.scenario import Assumption, Entry, PartsRow, Place
from armsim.studies.compare import MEASURES
from armsim.studies.proposal import Course, Failure, Inputs, Proposal

TIME = np.linspace(0.0, 3.0, 31)
ANGLE = np.linspace(-0.5, 1.2, 18)


def entry(key: str, typed: str, value: float | bool | str | None = None, line: int = 1) -> Entry:
    return Entry(key=key, typed=typed, value=value, understood=typed, place=Place(file="x.yaml", line=line))


def course(lift_time: float = 1.0, **changes: object) -> Course:
    return Course(
        **{  # type: ignore[arg-type]
            "angle": (TIME, np.minimum(TIME / lift_time, 1.0)),
            "supply": (TIME, np.where(lift_time > TIME, 8.0 / lift_time, 0.5)),
            "margin": (ANGLE, 1.5 + ANGLE**2),
            "lift_ends": lift_time,
            "ratings": (10.0,),
            **changes,
        }
    )


def proposal(label: str, verdict: str = "pass", **values: object) -> Proposal:
    """One that lifts, with such values of its measures and all others not known."""
    arrives = bool(values.pop("arrives", True))
    more = {key: values.pop(key) for key in ("entries", "assumptions", "parts_list", "warnings") if key in values}
    fields = {
        key: values.pop(key) for key in ("requirements", "findings", "course", "load", "headline") if key in values
    }
    lift = values.get("lift_time", 1.0)
    inputs = Inputs(
        **{  # type: ignore[arg-type]
            "title": f"The {label}",
            "sha256": "0" * 64,
            "entries": (),
            "assumptions": (),
            "warnings": (),
            "parts_list": (),
            **more,
        }
    )
    return Proposal(
        **{  # type: ignore[arg-type]
            "label": label,
            "path": Path(f"{label}.yaml"),
            "load": "arm",
            "verdict": verdict,
            "headline": f"LIFTS: {label}",
            "arrives": arrives,
            "values": {measure.name: None for measure in MEASURES} | values,
            "requirements": (),
            "weakest": None,
            "findings": (),
            "inputs": inputs,
            "course": course(float(lift) if isinstance(lift, float) else 1.0),
            **fields,
        }
    )


def failure(label: str, text: str = "the solver gave up", status: int = 3) -> Failure:
    return Failure(label=label, path=Path(f"{label}.yaml"), status=status, text=text)


def asked(met: bool | None, margin: float | None = None, name: str = "lift_time") -> Requirement:
    return Requirement(
        name=name, dimension="time", sense="max", limit=2.0, value=None if margin is None else 2.0 - margin,
        margin=margin, met=met,
    )  # fmt: skip


#: prices and what is had for them: b costs less and takes longer, c is as b and draws more, d fails and costs least
A = proposal("a", lift_time=1.0, supply_current_peak=20.0, static_margin=2.0, energy_per_cycle=100.0, price=90.0)
B = proposal("b", lift_time=2.0, supply_current_peak=10.0, static_margin=2.0, energy_per_cycle=100.0, price=60.0)
C = proposal("c", lift_time=2.0, supply_current_peak=11.0, static_margin=2.0, energy_per_cycle=100.0, price=60.0)
D = proposal(
    "d", "fail", arrives=False, supply_current_peak=30.0, static_margin=0.9, price=40.0,
    requirements=(asked(False), asked(False, -0.5, "rest_time")), headline="DOES NOT LIFT: stalls; more would lift it",
)  # fmt: skip
PARTS = (
    PartsRow(item="motor", quantity=2, unit_price=30.0, mass=1.5, source="invented"),
    PartsRow(item="chain | long", quantity=1, unit_price=12.5, mass=None, source=""),
)
TAKEN = Assumption(key="ambient", text="25 degC around the machine", origin="default")
