"""Values of keys as a file says them, and a whole file with other values."""

from collections.abc import Mapping

import yaml

from armsim.scenario.changes import changed
from armsim.scenario.records import Measure, Scenario
from armsim.scenario.source import Listing, Section, Tree
from armsim.scenario.uncertainty import SECTION


def written(value: float, measure: Measure) -> str:
    """A value of SI as it is typed in a file, to the last digit."""
    if measure.dimension is None:
        return repr(value)
    unit, size = measure.dimension.shows[0]
    return f"{value / size!r} {unit}"


def file_text(scenario: Scenario, texts: Mapping[str, str], remark: str) -> str:
    """A whole scenario file with other texts at some keys, its bases merged in, and no section on what is uncertain.

    Raises ScenarioError where they do not go together, ValueError for a scenario that was made in code.
    """
    document = changed(scenario, texts).document
    assert document is not None
    plain = {key: _plain(value) for key, value in document.tree.entries.items() if key != SECTION}
    text = yaml.dump(plain, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=150, default_flow_style=None)
    return f"# {remark}\n{text}"


class _Dumper(yaml.SafeDumper):
    """Every value as it was typed: our reader takes no text for a number or a word of YAML's own."""


class _Typed(str):
    """A value as typed, without quotes."""


def _as_typed(dumper: yaml.SafeDumper, text: _Typed) -> yaml.ScalarNode:
    return dumper.represent_scalar(dumper.resolve(yaml.ScalarNode, str(text), (True, False)), str(text))


_Dumper.add_representer(_Typed, _as_typed)


def _plain(tree: Tree) -> object:
    if isinstance(tree, Section):
        return {key: _plain(value) for key, value in tree.entries.items()}
    if isinstance(tree, Listing):
        return [_plain(item) for item in tree.items]
    return tree.text if tree.quoted else _Typed(tree.text.strip())
