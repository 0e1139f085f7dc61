"""Runs of a netlist by simulators from outside the project, each in a process of its own.

As a script: ``python spice_runner.py SIMULATOR OUT.npz < NETLIST`` runs the text and keeps time and
the wanted signals. A simulator keeps global state, so a process runs one text.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import importlib.util
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

NODES = ("vds", "vgs", "top")
METERS = {"supply_current": ("vsupply", -1.0), "drain_current": ("vdrain", 1.0)}
NGSPICE, NEOSPICE = "ngspice", "neospice"


def _library() -> str | None:
    return ctypes.util.find_library("ngspice")


def missing(simulator: str) -> str:
    """Why a simulator cannot run here; empty where it can."""
    if simulator == NGSPICE:
        return "" if _library() else "libngspice is not installed (Debian: libngspice0)"
    if importlib.util.find_spec("neospice") is None:
        return "the package neospice is not installed (no wheel for this platform?)"
    return ""


def run(text: str, simulator: str, *, patience: float = 300.0) -> dict[str, Array]:
    """Signals over time of one netlist.

    Parameters
    ----------
    text : str
        Netlist with its own analysis.
    simulator : {"ngspice", "neospice"}
        Which simulator.
    patience : float
        Longest time that it may take [s].

    Returns
    -------
    dict
        ``time``, each of `NODES` and `METERS`, and ``seconds``, what the run itself took.

    Raises
    ------
    RuntimeError
        The simulator gave up; its last words are in the message.
    """
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "signals.npz"
        command = [sys.executable, __file__, simulator, str(out)]
        done = subprocess.run(
            command, input=text, capture_output=True, text=True, timeout=patience, check=False
        )
        if done.returncode != 0 or not out.exists():
            raise RuntimeError(f"{simulator} gave up: {(done.stdout + done.stderr)[-2000:]}")
        with np.load(out) as kept:
            return dict(kept)


def _ngspice(text: str) -> dict[str, Array]:
    library = ctypes.CDLL(_library())
    said: list[str] = []

    @ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
    def tell(line: bytes, _: int, __: object) -> int:
        said.append(line.decode(errors="replace"))
        return 0

    @ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
    def progress(_: bytes, __: int, ___: object) -> int:
        return 0

    @ctypes.CFUNCTYPE(
        ctypes.c_int, ctypes.c_int, ctypes.c_bool, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p
    )
    def leave(*_: object) -> int:
        return 0

    class Vector(ctypes.Structure):
        _fields_ = (
            ("name", ctypes.c_char_p),
            ("type", ctypes.c_int),
            ("flags", ctypes.c_short),
            ("real", ctypes.POINTER(ctypes.c_double)),
            ("complex", ctypes.c_void_p),
            ("length", ctypes.c_int),
        )

    library.ngSpice_Init(tell, progress, leave, None, None, None, None)
    library.ngGet_Vec_Info.restype = ctypes.POINTER(Vector)
    library.ngGet_Vec_Info.argtypes = [ctypes.c_char_p]
    lines = [line.encode() for line in text.splitlines()]
    table = (ctypes.c_char_p * (len(lines) + 1))(*lines, None)
    if library.ngSpice_Circ(table) != 0:
        raise RuntimeError("\n".join(said[-20:]))
    start = time.perf_counter()
    failed = library.ngSpice_Command(b"run")
    seconds = time.perf_counter() - start
    if failed or any("abort" in line.lower() or "timestep too small" in line for line in said):
        raise RuntimeError("\n".join(said[-20:]))

    def vector(name: str) -> Array:
        found = library.ngGet_Vec_Info(name.encode())
        if not found:
            raise RuntimeError(f"no vector {name}\n" + "\n".join(said[-20:]))
        return np.ctypeslib.as_array(found.contents.real, (found.contents.length,)).copy()

    signals = {name: vector(name) for name in NODES}
    currents = {name: sign * vector(f"{part}#branch") for name, (part, sign) in METERS.items()}
    return {"time": vector("time"), **signals, **currents, "seconds": np.array(seconds)}


def _neospice(text: str) -> dict[str, Array]:
    import neospice

    simulator = neospice.Simulator()
    circuit = simulator.parse(text)
    start = time.perf_counter()
    found = simulator.run(circuit).transient
    seconds = time.perf_counter() - start
    signals = {name: np.asarray(found.voltage(name)) for name in NODES}
    currents = {
        name: sign * np.asarray(found.current(part)) for name, (part, sign) in METERS.items()
    }
    times = np.asarray(found.time)
    return {"time": times, **signals, **currents, "seconds": np.array(seconds)}


if __name__ == "__main__":
    runner = {NGSPICE: _ngspice, NEOSPICE: _neospice}[sys.argv[1]]
    np.savez(sys.argv[2], **runner(sys.stdin.read()))
