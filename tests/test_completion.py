"""Completion by a shell, as processes: what a press of the key gets, and that it waits for nothing heavy."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture
def folder(tmp_path):
    for name in ("gate.yaml", "gantry.yml", "gate.txt", ".hidden.yaml"):
        (tmp_path / name).write_text("")
    (tmp_path / "orchard" / "lifts").mkdir(parents=True)
    (tmp_path / "orchard" / "lifts" / "crate.yaml").write_text("")
    (tmp_path / "orchard" / "lifts" / "tray.yaml").write_text("")
    return tmp_path


def armsim(folder, *words, **variables):
    return subprocess.run(
        [sys.executable, *words], capture_output=True, text=True, timeout=120, check=False, cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), **variables},
    )  # fmt: skip


def offered(folder, *typed):
    """What bash is told for these words, the last of them unfinished."""
    words = ["armsim", *typed]
    done = armsim(
        folder, "-m", "armsim",
        COMP_WORDS=" ".join(words), COMP_CWORD=str(len(words) - 1), _ARMSIM_COMPLETE="complete_bash",
    )  # fmt: skip
    assert done.stderr == ""
    return done.stdout.split()


def test_commands_and_options_complete(folder):
    assert offered(folder, "ch") == ["check", "choose"]
    assert "--overwrite" in offered(folder, "run", "gate.yaml", "--ov")


def test_scenarios_complete_to_yaml_files_and_folders(folder):
    assert offered(folder, "run", "ga") == ["gantry.yml", "gate.yaml"]
    assert offered(folder, "check", "") == ["gantry.yml", "gate.yaml", "orchard/"]
    assert offered(folder, "run", "nothing") == []
    assert offered(folder, "run", "nowhere/at") == []


def test_a_lone_folder_is_entered(folder):
    assert offered(folder, "run", "orch") == ["orchard/lifts/crate.yaml", "orchard/lifts/tray.yaml"]
    assert offered(folder, "run", f"{folder}/orchard/lifts/t") == [f"{folder}/orchard/lifts/tray.yaml"]


def test_kinds_of_parts_complete(folder):
    assert offered(folder, "parts", "ch") == ["chains", "chemistries"]


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash here")
def test_bash_itself_completes_with_the_script_that_is_shown(folder):
    # asked from within a bash, as a person asks: the shell is the one that called
    script = subprocess.run(
        ["bash", "--norc", "-c", f'"{sys.executable}" -m armsim --show-completion; true'],
        capture_output=True, text=True, timeout=120, check=False, cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ).stdout  # fmt: skip
    assert "complete -o default" in script
    (folder / "bin").mkdir()
    program = folder / "bin" / "armsim"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m armsim "$@"\n')
    program.chmod(0o755)
    pressed = "COMP_WORDS=(armsim parts worm-); COMP_CWORD=2; _armsim_completion armsim; printf '%s,' ${COMPREPLY[@]}"
    done = subprocess.run(
        ["bash", "--norc", "-c", f"{script}\n{pressed}"], capture_output=True, text=True, timeout=120, check=False,
        cwd=folder, env={**os.environ, "PYTHONPATH": str(ROOT), "PATH": f"{folder / 'bin'}:{os.environ['PATH']}"},
    )  # fmt: skip
    assert (done.stdout, done.stderr) == ("worm-wheels,worm-wear,", "")


def test_a_press_of_the_key_loads_nothing_heavy(folder):
    script = """
import sys
from armsim.cli import main
main()
heavy = {"numpy", "scipy", "matplotlib", "yaml", "armsim.scenario"} & set(sys.modules)
print(sorted(heavy), file=sys.stderr)
"""
    done = armsim(folder, "-c", script, COMP_WORDS="armsim parts ch", COMP_CWORD="2", _ARMSIM_COMPLETE="complete_bash")
    assert (done.stdout.split(), done.stderr) == (["chains", "chemistries"], "[]\n")
