"""Compile the package's Numba functions into a library that needs neither Numba nor LLVM.

Usage: NUMBA_CPU_NAME=... python docs/bundle/compile_ahead.py PACKAGE FOLDER NAME

PACKAGE is a folder with the installed package, FOLDER gets NAME's library and `signatures.json`.
Which types each function is called with is found by evaluating examples.
"""

from __future__ import annotations

import json
import os
import sys
import warnings
from pathlib import Path
from typing import Any

CPU = os.environ["NUMBA_CPU_NAME"]


def called_dispatchers() -> dict[str, Any]:
    """Functions that Python calls, by their full names, after two examples used them."""
    from burstwise import evaluate, load
    from burstwise.resources import __file__ as resources

    for file in sorted((Path(resources).parent / "examples").glob("*.burstwise"))[:2]:
        evaluate(load(str(file)))
    found = compiled_functions()
    idle = [name for name, each in found.items() if not each.signatures]
    if idle:
        raise SystemExit(f"the examples call none of {idle}")
    return found


def compiled_functions() -> dict[str, Any]:
    """Compiled functions of the modules loaded, by their full names, but for inlined ones."""
    from numba.core.dispatcher import Dispatcher

    return {
        f"{each.py_func.__module__}.{each.py_func.__qualname__}": each
        for name, module in sorted(sys.modules.items())
        if name.startswith("burstwise.core")
        for each in vars(module).values()
        if isinstance(each, Dispatcher) and not each.targetoptions.get("forceinline")
    }


def kind(numba_type: Any) -> Any:
    """What the stand-in checks: a name, 'dtype dimensions layout access', or a list of them."""
    from numba import types

    if isinstance(numba_type, types.BaseTuple):
        return [kind(each) for each in numba_type]
    if isinstance(numba_type, types.Array):
        access = "write" if numba_type.mutable else "read"
        return f"{numba_type.dtype} {numba_type.ndim} {numba_type.layout} {access}"
    return str(numba_type)


def widest(signatures: list[Any]) -> tuple[Any, ...]:
    """Types that take whatever a function was called with: the least that is asked of each."""
    from numba import types

    taken = []
    for each in zip(*signatures, strict=True):
        layouts = {t.layout for t in each if isinstance(t, types.Array)}
        if layouts:
            layout = layouts.pop() if len(layouts) == 1 else "A"
            taken.append(each[0].copy(layout=layout, readonly=any(not t.mutable for t in each)))
        elif len(set(each)) == 1:
            taken.append(each[0])
        else:
            taken.append(types.float64)
    return tuple(taken)


def compile_library(folder: Path, name: str) -> dict[str, Any]:
    """Write the library; returns symbol and arguments of each function."""
    from numba.core.compiler import Flags
    from numba.pycc import CC
    from numba.pycc import compiler as ahead

    def unlocked() -> Flags:
        """Flags of the outermost functions, which only call: the lock is released as ever."""
        flags = Flags()
        flags.release_gil = True
        return flags

    ahead.Flags = unlocked
    library = CC(name)
    library.output_dir, library.target_cpu = str(folder), CPU
    functions = {}
    for full, dispatcher in called_dispatchers().items():
        types = widest(dispatcher.signatures)
        dispatcher.compile(types)
        returned = dispatcher.overloads[types].signature.return_type
        symbol = full.replace(".", "_")
        names = ", ".join(f"a{place}" for place in range(len(types)))
        scope: dict[str, Any] = {"called": dispatcher}
        exec(f"def {symbol}({names}):\n    return called({names})", scope)
        library.export(symbol, returned(*types))(scope[symbol])
        functions[full] = {"symbol": symbol, "takes": [kind(each) for each in types]}
    library.compile()
    return functions


def main(argv: list[str]) -> int:
    """Compile one library; returns the exit status."""
    package, folder, name = argv
    sys.path.insert(0, package)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the compiler ahead is said to be replaced one day
        functions = compile_library(Path(folder), name)
    (Path(folder) / f"{name}.json").write_text(json.dumps(functions), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
