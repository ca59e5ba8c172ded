"""Scenario texts put together from sections, so that a test shows only what it is about."""

import textwrap

from armsim.scenario import Problem, Scenario, ScenarioError, loads

SECTIONS = {
    "title": "Sluice gate",
    "motor": (
        "{nominal_voltage: 24 V, no_load_speed: 2600 rpm, no_load_current: 1.4 A, "
        "stall_torque: 2.05 N*m, stall_current: 26 A}"
    ),
    "supply": "{battery: {open_circuit_voltage: 25 V, internal_resistance: 40 mohm}}",
    "transmission": "[{gearbox: {reduction: 100, efficiency: 0.8}}]",
    "arm": "{length: 0.6 m, mass: 5 kg, payload: {mass: 8 kg}}",
    "start": "0 deg",
    "moves": "[{lift: {to: 70 deg}}]",
}


def scenario_text(**sections: str) -> str:
    """A whole scenario; each keyword replaces or adds a section, an empty text leaves it out."""
    lines = []
    for key, value in {**SECTIONS, **sections}.items():
        if not value:
            continue
        block = "\n" in value.strip()
        lines.append(
            f"{key}:\n{textwrap.indent(textwrap.dedent(value).strip(chr(10)), '  ')}" if block else f"{key}: {value}"
        )
    return "\n".join(lines) + "\n"


def read(**sections: str) -> Scenario:
    """The scenario of such a text."""
    return loads(scenario_text(**sections))


def refused(**sections: str) -> tuple[Problem, ...]:
    """The problems of such a text; AssertionError if it has none."""
    try:
        loads(scenario_text(**sections))
    except ScenarioError as error:
        return error.problems
    raise AssertionError("the scenario was taken")


def understood(scenario: Scenario, key: str) -> str:
    """How a value was understood."""
    return next(entry.understood for entry in scenario.entries if entry.key == key)
