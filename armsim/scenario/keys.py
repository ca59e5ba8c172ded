"""What sections of a scenario are made of: the section itself, and the values that several of them have."""

import math
from typing import Annotated, ClassVar

from pydantic import BaseModel, ConfigDict

from armsim.scenario import dimensions as d
from armsim.scenario import readers as r


class Keys(BaseModel):
    """A section of a scenario."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False, defer_build=True)
    example: ClassVar[str] = ""  #: how the section is written on one line
    alone: ClassVar[bool] = False  #: exactly one of its keys stands in it


Text = Annotated[str, r.text()]
Name = Annotated[str, r.text(60)]
Part = Annotated[float, r.share()]
Level = Annotated[float, r.share(zero=True)]
Mass = Annotated[float, r.quantity(d.MASS, above=0.0, usual=(1e-3, 2000.0))]
Length = Annotated[float, r.quantity(d.LENGTH, above=0.0, usual=(0.01, 12.0))]
Small = Annotated[float, r.quantity(d.LENGTH, above=0.0, usual=(1e-4, 1.0))]
Along = Annotated[float, r.quantity(d.LENGTH, least=0.0, usual=(1e-3, 12.0))]
Offset = Annotated[float, r.quantity(d.LENGTH, least=-12.0, most=12.0)]
Angle = Annotated[float, r.quantity(d.ANGLE, least=-math.tau, most=math.tau)]
Inertia = Annotated[float, r.quantity(d.INERTIA, least=0.0, usual=(1e-9, 1e4))]
Drag = Annotated[float, r.quantity(d.TORQUE, least=0.0, usual=(1e-6, 1e3))]
ViscousDrag = Annotated[float, r.quantity(d.VISCOUS, least=0.0, usual=(1e-9, 1e3))]
Voltage = Annotated[float, r.quantity(d.VOLTAGE, above=0.0, usual=(1.0, 120.0))]
Current = Annotated[float, r.quantity(d.CURRENT, above=0.0, usual=(5e-3, 1500.0))]
Resistance = Annotated[float, r.quantity(d.RESISTANCE, least=0.0, usual=(1e-5, 200.0))]
Time = Annotated[float, r.quantity(d.TIME, above=0.0, most=36000.0)]
Pause = Annotated[float, r.quantity(d.TIME, least=0.0, most=36000.0)]
Temperature = Annotated[float, r.quantity(d.TEMPERATURE, least=-90.0, most=400.0, usual=(0.5, 250.0))]
Rise = Annotated[float, r.quantity(d.THERMAL_RESISTANCE, above=0.0, usual=(0.01, 500.0))]
Capacity = Annotated[float, r.quantity(d.HEAT_CAPACITY, above=0.0, usual=(0.05, 1e5))]
Stress = Annotated[float, r.quantity(d.STRESS, above=0.0, usual=(1e6, 2.5e9))]
Teeth = Annotated[int, r.whole(5, 1000, noun="teeth")]
