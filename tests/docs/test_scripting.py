"""The examples of docs/scripting.md run as they stand, in a process that sets nothing for them."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import burstwise

PAGE = (Path(__file__).parents[2] / "docs" / "scripting.md").read_text("utf-8")
EXAMPLES = dict(re.findall(r"## ([\w ]+)\n.*?```python\n(.*?)```", PAGE, re.DOTALL))
NO_SETTINGS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "DISPLAY")


def run(code: str, folder: Path) -> str:
    clean = {name: value for name, value in os.environ.items() if name not in NO_SETTINGS}
    where = os.pathsep.join(filter(None, sys.path))
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        env=clean | {"MPLBACKEND": "agg", "PYTHONPATH": where, "PYTHONIOENCODING": "utf-8"},
        cwd=folder, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_there_are_three_examples() -> None:
    assert list(EXAMPLES) == ["Sweep the duty and plot", "Size a timer", "Read captures"]


def test_the_sweep_draws_its_curves(tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    told = run(EXAMPLES["Sweep the duty and plot"], tmp_path).splitlines()
    powers = [float(line.split()[2]) for line in told]
    # Power of a fixed resistance goes with the square of the voltage; a discharge bends it.
    assert 1.5 < powers[1] / powers[0] < 3.5
    assert (tmp_path / "duty.png").read_bytes().startswith(b"\x89PNG")


def test_the_timers_are_about_what_was_wished(tmp_path: Path) -> None:
    told = run(EXAMPLES["Size a timer"], tmp_path)
    bands = re.findall(r"([\d.]+) to ([\d.]+) Hz", told)
    assert len(bands) == 3
    assert all(float(low) < 15.0 < float(high) for low, high in bands)


def test_the_capture_gives_what_it_was_made_of(tmp_path: Path) -> None:
    told = run(EXAMPLES["Read captures"], tmp_path)
    assert float(re.search(r"carrier ([\d.]+) kHz", told)[1]) == pytest.approx(250.0, rel=2e-3)
    on, ring = re.search(r"on for ([\d.]+) ms, rings down in (\d+)", told).groups()
    assert float(on) == pytest.approx(1.0, rel=0.02)
    assert float(ring) == pytest.approx(40.0, rel=0.05)


def test_every_name_is_told_of_and_there() -> None:
    table = PAGE[PAGE.index("| Name |") : PAGE.index("Everything else")]
    for name in burstwise.__all__:
        assert re.search(rf"\b{name}\b", table), name
        assert getattr(burstwise, name).__name__ == name
    with pytest.raises(AttributeError, match="nonsense"):
        _ = burstwise.nonsense


def test_types_see_the_same_names() -> None:
    source = Path(burstwise.__file__).read_text("utf-8")
    promised = re.findall(r"from burstwise\.([\w.]+) import (\w+) as \2$", source, re.MULTILINE)
    assert sorted((name, home) for home, name in promised) == sorted(burstwise._HOMES.items())


def test_an_import_changes_nothing_and_loads_nothing_heavy(tmp_path: Path) -> None:
    code = (
        "import os, sys; before = dict(os.environ)\n"
        "import burstwise\n"
        "heavy = {'numpy', 'numba', 'pydantic', 'PySide6'} & set(sys.modules)\n"
        "from burstwise import evaluate, load\n"
        "print(dict(os.environ) == before, sorted(heavy), 'PySide6' in sys.modules)"
    )
    assert run(code, tmp_path).split("\n")[0] == "True [] False"
