"""The command line as a script meets it: exit status, standard output and error, no Qt."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from burstwise.core.command import run

READINGS = """supply [V],shunt rms [mV],shunt mean [mV],drain peak [V]
12,61,38,70
16,83,52,96
20,104,66,121
24,127,79,147
28,149,93,172
"""


def test_bad_input_is_one_line_with_field_value_and_limit(
    example_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(example_folder / "classroom-gated-interrupted.burstwise")
    cases = [
        (["evaluate", file, "--set", "supply.voltage=4 A"], "supply.voltage"),
        (["evaluate", file, "--set", "supply.voltage=90 kV"], "between 1 V and 400 V"),
        (["evaluate", file, "--set", "supply.volt=4"], "supply.volt"),
        (["evaluate", file, "--set", "nonsense"], "PATH=VALUE"),
        (["evaluate", "not-there.burstwise"], "not-there.burstwise"),
        (["evaluate"], "file"),
        (["evaluate", ""], "file: must be the name of a file; instead received nothing"),
        (["netlist", file, "-o", ""], "--output: must be the name of a file"),
        (["evaluate", file, "--set", "device.stored_charge=57uC"], "nC with this kind of law"),
        (["evaluate", file, "--set", "device.stored_charge=57uC"], "instead received 57 µC"),
        (["timer", "--frequency", "15 V", "--duty", "2%:98%", "--supply", "12V"], "--frequency"),
        (["timer", "--frequency", "15", "--duty", "98%:2%", "--supply", "12V"], "--duty"),
        (["forecast", "x.csv", "--shunt", "1", "--on-resistance", "2", "--rating", "a"], "rating"),
        (["no-such-command"], "no-such-command"),
    ]
    for arguments, part in cases:
        assert run(arguments) == 2, arguments
        captured = capsys.readouterr()
        assert captured.out == ""
        assert captured.err.count("\n") == 1, arguments
        assert part in captured.err, arguments


def test_pipes_devices_and_endless_files_are_one_line(
    odd_files: dict[str, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    shunt = ["--shunt", "1", "--on-resistance", "2", "--rating", "power=30W"]
    for words, file in odd_files.items():
        for arguments in (["evaluate", str(file)], ["forecast", str(file), *shunt]):
            assert run(arguments) == 2
            captured = capsys.readouterr()
            assert captured.out == ""
            assert captured.err.endswith(f"instead received {words}\n")
            assert captured.err.count("\n") == 1


def test_settings_take_what_a_person_writes(
    example_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(example_folder / "classroom-gated-interrupted.burstwise")
    settings = ["--set", "interrupter.duty=20%", "--set", "interrupter.frequency=0.2kHz"]
    assert run(["evaluate", file, "--json", *settings]) == 0
    burst = json.loads(capsys.readouterr().out)["burst"]
    assert burst["duty"] == pytest.approx(0.2)
    assert burst["on_time_s"] == pytest.approx(1e-3)


def test_plain_text_names_the_first_limit(
    example_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["evaluate", str(example_folder / "classroom-gated-spiking.burstwise")]) == 1
    assert "smallest margin: Peak drain voltage" in capsys.readouterr().out


def test_forecast_reads_readings_and_orders_the_ratings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "readings.csv"
    file.write_text(READINGS, encoding="utf-8")
    ratings = ["--rating", "voltage=600V", "power=30W", "--rating", "current=4A"]
    shunt = ["--shunt", "0R1", "--on-resistance", "1R8"]
    status = run(["forecast", str(file), *shunt, "--json", *ratings])
    told = json.loads(capsys.readouterr().out)
    assert status == 0
    supplies = [entry["supply_V"] for entry in told["reached"]]
    assert supplies == sorted(supplies)
    assert {entry["rating"] for entry in told["reached"]} == {"voltage", "power", "current"}
    row = told["rows"][0]
    assert row["current_rms_A"] == pytest.approx(0.61)
    assert row["input_power_W"] == pytest.approx(12 * 0.38)


def test_headless_work_needs_neither_qt_nor_a_display(example_folder: Path) -> None:
    file = example_folder / "classroom-direct-continuous.burstwise"
    code = (
        "import sys\n"
        "class Refuse:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name.split('.')[0] in ('PySide6', 'pyqtgraph'):\n"
        "            raise ImportError(name)\n"
        "sys.meta_path.insert(0, Refuse())\n"
        "from burstwise.app.launch import main\n"
        f"sys.exit(main(['evaluate', {str(file)!r}, '--json']))\n"
    )
    environment = {key: value for key, value in os.environ.items() if key != "DISPLAY"}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=False
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["carrier"]["oscillates"] is True


def test_commands_say_nothing_about_a_plotting_library_that_is_not_installed() -> None:
    code = (
        "import sys\n"
        "sys.modules['matplotlib'] = sys.modules['matplotlib.pyplot'] = None\n"
        "from burstwise.app.launch import main\n"
        "sys.exit(main(['timer', '--help']))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_netlist_is_written_with_the_figures_to_expect(
    example_folder: Path, tmp_path: Path
) -> None:
    file = str(example_folder / "classroom-direct-continuous.burstwise")
    out = tmp_path / "stage.cir"
    assert run(["netlist", file, "--set", "supply.voltage=20V", "-o", str(out)]) == 0
    text = out.read_text(encoding="ascii")
    assert "Carrier frequency 935." in text
    assert "None is a permission" in text
    supply = next(line for line in text.splitlines() if line.startswith("Vsupply"))
    assert 19.0 < float(supply.split()[-1]) <= 20.0
    assert text.rstrip().endswith(".end")


def test_netlist_of_a_stage_that_must_not_be_built_says_so_by_its_status(
    example_folder: Path, tmp_path: Path
) -> None:
    file = str(example_folder / "classroom-direct-continuous.burstwise")
    out = tmp_path / "stage.cir"
    settings = ["--set", "drive.feedback_sense=reversed"]
    assert run(["netlist", file, *settings, "-o", str(out)]) == 1
    assert "does not oscillate" in out.read_text(encoding="ascii")


def test_netlist_goes_to_a_netlist_file_only(
    example_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(example_folder / "classroom-direct-continuous.burstwise")
    assert run(["netlist", file, "-o", str(tmp_path / "stage.txt")]) == 2
    assert ".cir" in capsys.readouterr().err
    assert run(["netlist", file]) == 2
    assert run(["netlist", file, "-o", str(tmp_path / "no" / "such" / "stage.cir")]) == 2
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("encoding", ["ascii", pytest.param("cp1252", marks=pytest.mark.slow)])
def test_a_console_without_unicode_gets_its_results(example_folder: Path, encoding: str) -> None:
    file = str(example_folder / "classroom-gated-interrupted.burstwise")
    environment = os.environ | {"PYTHONIOENCODING": encoding}
    for extra in ((), ("--json",)):
        done = subprocess.run(
            [sys.executable, "-m", "burstwise.app.launch", "evaluate", file,
             "--set", "name=Ω", *extra],
            capture_output=True, env=environment, check=False,
        )  # fmt: skip
        assert (done.returncode, done.stderr) == (0, b"")
        text = done.stdout.decode(encoding)
        if extra:
            assert json.loads(text)["name"] == "Ω"
        else:
            assert text.startswith("ohm")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full here")
def test_a_full_disk_is_one_line(example_folder: Path) -> None:
    file = str(example_folder / "classroom-gated-interrupted.burstwise")
    for command in (["evaluate", file, "--json"], ["sheet", "--help"]):
        with Path("/dev/full").open("wb") as full:
            done = subprocess.run(
                [sys.executable, "-m", "burstwise.app.launch", *command],
                stdout=full, stderr=subprocess.PIPE, text=True, check=False,
            )  # fmt: skip
        assert done.returncode == 2
        assert done.stderr.count("\n") == 1
        assert "No space left" in done.stderr
