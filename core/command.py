"""Headless commands: `burstwise evaluate`, `timer`, `forecast`, `search` and `netlist`.

Exit status 0 done, 1 the result carries a stop finding, 2 bad input or no room for the output (one
line on standard error); an unexpected error ends with 70 in `burstwise.app.launch`, whose log file
holds the rest.
Nothing here needs a display.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from burstwise.core import storage
from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.instruments import Shunt
from burstwise.core.bench.reached import Rating
from burstwise.core.bench.report import forecast_of_file, forecast_report, rating_from_text
from burstwise.core.console import DONE, STOPPED, Parser, file_name, guarded, writes_unicode
from burstwise.core.design.document import Design, with_values
from burstwise.core.design.timer_wish import CAPACITOR_NAMES, CIRCUIT_NAMES, TimerWish
from burstwise.core.disk import read_text, write_whole
from burstwise.core.drawer import Drawer, drawer_from_text
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.findings import Finding, Severity
from burstwise.core.interrupter.from_drawer import cost_of, from_drawer, priced_report
from burstwise.core.interrupter.report import sets_report
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.report.netlist import stage_netlist
from burstwise.core.search import Free, Objective, TradeOff, Wish, search, trade_off
from burstwise.core.search.from_drawer import free_from_drawer
from burstwise.core.search.report import answer_object, trade_object
from burstwise.core.search.space import free_from_text
from burstwise.core.search.tolerance import check_builds, scattered
from burstwise.core.search.tradeoff import POINTS, sweep_from_text
from burstwise.core.search.wish import in_words, keep_from_text, name_in_words
from burstwise.core.stopping import END_SIGNALS
from burstwise.core.studies.chance import BUILDS
from burstwise.core.studies.first_break import break_object, break_words, first_break_by_engine
from burstwise.core.units import quantity, shown
from burstwise.core.user_data import DRAWER, data_folder


def run(argv: Sequence[str]) -> int:
    """Run one headless command.

    Parameters
    ----------
    argv : sequence of str
        Arguments after the program's name.

    Returns
    -------
    int
        Exit status 0, 1 or 2.
    """

    def work() -> int:
        arguments = parser().parse_args(list(argv))
        action: Callable[[argparse.Namespace], int] = arguments.action
        return action(arguments)

    return guarded(work)


def parser() -> argparse.ArgumentParser:
    """Parser of all headless commands."""
    whole = Parser(
        prog="burstwise",
        description="Design interrupted solid-state resonant coils. Without a command: the window.",
        epilog="Also: burstwise sheet FILE -o OUT.pdf|OUT.html, the build sheet.",
    )
    commands = whole.add_subparsers(required=True, metavar="COMMAND")
    _add_evaluate(commands.add_parser("evaluate", help="results of a design file"))
    _add_timer(commands.add_parser("timer", help="timer parts for a wanted frequency and duty"))
    _add_forecast(commands.add_parser("forecast", help="from readings to the first rating reached"))
    _add_search(commands.add_parser("search", help="designs that fulfil a wish best"))
    _add_netlist(commands.add_parser("netlist", help="the stage as a SPICE netlist"))
    return whole


def _add_design(part: argparse.ArgumentParser) -> None:
    part.add_argument("file", type=file_name, help="design file")
    part.add_argument(
        "--set", action="append", default=[], metavar="PATH=VALUE", help="change a field first"
    )


def _add_evaluate(part: argparse.ArgumentParser) -> None:
    _add_design(part)
    part.add_argument("--json", action="store_true", help="print one JSON object")
    part.set_defaults(action=_evaluate)


def _add_timer(part: argparse.ArgumentParser) -> None:
    part.add_argument("--frequency", required=True, help="wanted frequency, or LOW:HIGH")
    part.add_argument("--duty", required=True, metavar="LOW:HIGH", help="duty at the pot's ends")
    part.add_argument("--supply", required=True, help="timer supply")
    part.add_argument("--circuit", choices=CIRCUIT_NAMES, help="only this circuit")
    part.add_argument("--count", type=int, default=8, help="most sets to print")
    part.add_argument("--json", action="store_true", help="print one JSON object")
    _add_drawer(part)
    part.set_defaults(action=_timer)


def _add_forecast(part: argparse.ArgumentParser) -> None:
    part.add_argument("file", type=file_name, help="readings as CSV with units in the header")
    part.add_argument("--shunt", required=True, help="shunt resistance")
    part.add_argument("--on-resistance", required=True, help="on-resistance of the device, hot")
    part.add_argument(
        "--rating", required=True, action="append", nargs="+", metavar="NAME=VALUE",
        help=f"rating to forecast: {', '.join(Rating)}",
    )  # fmt: skip
    part.add_argument("--json", action="store_true", help="print one JSON object")
    part.set_defaults(action=_forecast)


def _add_netlist(part: argparse.ArgumentParser) -> None:
    _add_design(part)
    part.add_argument(
        "-o", "--output", type=file_name, required=True, help="file to write, ending in .cir"
    )
    part.set_defaults(action=_netlist)


def _add_search(part: argparse.ArgumentParser) -> None:
    _add_design(part)
    aim = part.add_mutually_exclusive_group(required=True)
    aim.add_argument("--maximise", metavar="NAME", help="figure of evaluate --json, or margin")
    aim.add_argument("--minimise", metavar="NAME", help="the same, as low as can be")
    part.add_argument(
        "--free", action="append", nargs="+", required=True, metavar="PATH=LOW:HIGH",
        help="field that may move, in a range, as PATH=VALUE,VALUE or as PATH=drawer",
    )  # fmt: skip
    part.add_argument(
        "--keep", action="append", nargs="+", default=[], metavar="NAME=VALUE",
        help="margin=20%%, margin.RATING=30%% or a figure as burst.average_power_W<100",
    )  # fmt: skip
    part.add_argument(
        "--sweep", metavar="NAME=LOW:HIGH",
        help="the best at each value of a condition or field, as margin=0%%:40%%, "
        "burst.average_power_W<5:50 or supply.voltage=20V:60V",
    )  # fmt: skip
    part.add_argument("--points", type=int, default=POINTS, help="values of a sweep")
    part.add_argument("--seed", type=int, default=1, help="of the random numbers")
    part.add_argument(
        "--seconds", type=float, help="time it may take, 30 by default, 60 for a sweep"
    )
    part.add_argument("--evaluations", type=int, help="trials it may take")
    part.add_argument(
        "--builds", type=int, default=BUILDS,
        help="random builds of each design that comes back, after the search; 0 for none",
    )  # fmt: skip
    part.add_argument("-o", "--output", type=file_name, help="design file for the best")
    part.add_argument("--json", action="store_true", help="print one JSON object")
    _add_drawer(part)
    part.set_defaults(action=_search)


def _add_drawer(part: argparse.ArgumentParser) -> None:
    part.add_argument(
        "--drawer", nargs="?", const="", metavar="FILE.csv",
        help="parts at hand, with the titles kind,value,name,price; without a file those that the "
        "window keeps",
    )  # fmt: skip


def changed(design: Design, settings: Sequence[str]) -> Design:
    """Design with the fields of ``PATH=VALUE`` texts set.

    Raises
    ------
    InputError
        A text without '=', an unknown path, or a value out of its limits.
    """
    values: dict[str, object] = {}
    for text in settings:
        path, separator, value = text.partition("=")
        if not separator:
            raise InputError("--set", text, "PATH=VALUE, e.g. supply.voltage=36V")
        values[path.strip()] = None if value.strip() == "none" else value.strip()
    return with_values(design, values)


def _evaluate(arguments: argparse.Namespace) -> int:
    results = evaluate(changed(storage.load(arguments.file), arguments.set))
    found = first_break_by_engine(results.design) if results.carrier.oscillates else None
    if arguments.json:
        _print_json({**results_object(results), "first_break": break_object(found)})
        return _status(results.findings)
    first, run_ = results.first_limit, results.carrier
    print(results.design.name)
    if run_.oscillates:
        print(
            f"  carrier {shown(run_.frequency, 'Hz')}, {shown(run_.input_power, 'W')} while on, "
            f"top {shown(run_.top_voltage_peak, 'V')}, drain {shown(run_.drain_voltage_peak, 'V')}"
        )
    print(
        f"  duty {shown(results.duty, '%')}, {shown(results.average_power, 'W')} on average, "
        f"junction {shown(results.junction_mean, '°C')} mean, "
        f"{shown(results.junction_peak, '°C')} peak"
    )
    print(f"  smallest margin: {first.text} Margin {shown(first.margin, '%', digits=3)}.")
    if run_.oscillates:
        print(f"  first to break as the supply rises: {break_words(found, results.design)}")
    _print_findings(results.findings)
    return _status(results.findings)


def _timer(arguments: argparse.Namespace) -> int:
    low, high = _range(arguments.duty, "", "--duty")
    slow, fast = _range(arguments.frequency, "Hz", "--frequency")
    if arguments.count < 1:
        raise InputError("--count", arguments.count, "at least 1")
    drawer = _drawer(arguments)
    wish = TimerWish(
        frequency=slow,
        frequency_high=None if fast == slow else fast,
        duty_low=low,
        duty_high=high,
        supply=quantity(arguments.supply, "V", field="--supply"),
        capacitors=CAPACITOR_NAMES,
        circuits=CIRCUIT_NAMES if arguments.circuit is None else (arguments.circuit,),
    )
    stock = None if drawer is None else from_drawer(wish, drawer)
    answer = size_timer(wish, stock, count=arguments.count)
    if arguments.json:
        _print_json(sets_report(answer) if drawer is None else priced_report(answer, drawer))
        return _status(answer.findings)
    for number, one in enumerate(answer.sets, start=1):
        parts = ", ".join(f"{part.role} {shown(part.value, part.unit)}" for part in one.parts)
        print(f"{number}. {one.circuit}: {parts}")
        print(
            f"   {shown(one.frequency.nominal, 'Hz')}, duty {shown(one.duty_low.nominal, '%')} "
            f"to {shown(one.duty_high.nominal, '%')}"
        )
        cost = None if drawer is None else cost_of(one, drawer)
        if cost is not None:
            print(f"   parts cost {cost:g}")
    _print_findings(answer.findings)
    return _status(answer.findings)


def _forecast(arguments: argparse.Namespace) -> int:
    setup = BenchSetup(
        Shunt(quantity(arguments.shunt, "Ω", field="--shunt")),
        on_resistance=quantity(arguments.on_resistance, "Ω", field="--on-resistance"),
    )
    ratings = dict(rating_from_text(text) for group in arguments.rating for text in group)
    told = forecast_of_file(arguments.file, setup, ratings)
    if arguments.json:
        _print_json(forecast_report(told))
        return _status(told.findings)
    for entry in told.reached:
        mark = " (extrapolated)" if entry.extrapolated else ""
        print(
            f"{entry.rating} reached at {shown(entry.supply, 'V')}, "
            f"{shown(entry.low, 'V')} to {shown(entry.high, 'V')}{mark}"
        )
    _print_findings(told.findings)
    return _status(told.findings)


def _search(arguments: argparse.Namespace) -> int:
    design = changed(storage.load(arguments.file), arguments.set)
    name = arguments.maximise or arguments.minimise
    wish = Wish(
        Objective(name, highest=arguments.maximise is not None),
        tuple(keep_from_text(text) for group in arguments.keep for text in group),
    )
    drawer = _drawer(arguments)
    free = [_free(design, text, drawer) for group in arguments.free for text in group]
    if arguments.output is not None and arguments.output.suffix != storage.SUFFIX:
        raise InputError("--output", arguments.output, f"a file ending in {storage.SUFFIX}")
    if arguments.builds:
        check_builds(arguments.builds)
    if arguments.sweep is not None:
        return _sweep(arguments, design, wish, free)
    with _until_interrupted() as go_on:
        answer = search(
            design,
            wish,
            free,
            seed=arguments.seed,
            seconds=arguments.seconds,
            evaluations=arguments.evaluations,
            go_on=go_on,
        )
    if not answer.stopped:
        answer = replace(answer, found=scattered(answer.found, wish, builds=arguments.builds))
    if arguments.output is not None and answer.found:
        storage.save(answer.found[0].design, arguments.output)
    if arguments.json:
        _print_json(answer_object(answer))
        return _status(answer.findings)
    for number, item in enumerate(answer.found, start=1):
        values = ", ".join(f"{one.path} {one.text(item.values[one.path])}" for one in free)
        print(f"{number}. {name_in_words(name)} {in_words(name, item.objective)}: {values}")
        if item.tolerance is not None:
            print(f"   {item.tolerance.text}")
    for reason in answer.limited_by:
        print(f"  held back by: {reason.text}")
    print(f"  {answer.evaluations} evaluations in {answer.seconds:.1f} s")
    _print_findings(answer.findings)
    return _status(answer.findings)


@contextmanager
def _until_interrupted() -> Iterator[Callable[[object], bool]]:
    """The first Ctrl+C or request to end ends a search with what it has, the second the program."""
    halt = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield lambda _: True
        return
    before = {number: signal.getsignal(number) for number in END_SIGNALS}

    def put_back() -> None:
        for number, action in before.items():
            signal.signal(number, action)

    def first(_signal: int, _frame: object) -> None:
        halt.set()
        put_back()

    for number in END_SIGNALS:
        signal.signal(number, first)
    try:
        yield lambda _: not halt.is_set()
    finally:
        put_back()


def _sweep(arguments: argparse.Namespace, design: Design, wish: Wish, free: Sequence[Free]) -> int:
    if arguments.output is not None:
        raise InputError("--output", arguments.output, "not with --sweep, which has many designs")
    with _until_interrupted() as go_on:
        told = trade_off(
            design,
            wish,
            free,
            sweep_from_text(design, arguments.sweep, arguments.points),
            seed=arguments.seed,
            seconds=arguments.seconds,
            evaluations=arguments.evaluations,
            go_on=go_on,
        )
    if not told.stopped:
        told = _with_builds(told, wish, arguments.builds)
    if arguments.json:
        _print_json(trade_object(told))
        return _status(told.findings)
    name, moved = wish.objective.name, [one for one in free if one.path != told.sweep.name]
    print(f"{told.sweep.title}: {name_in_words(name)}")
    for point in told.points:
        at = told.sweep.text(point.value)
        if point.found is None:
            print(f"  {at}: nothing holds everything")
            continue
        values = ", ".join(f"{one.path} {one.text(point.found.values[one.path])}" for one in moved)
        print(f"  {at}: {in_words(name, point.found.objective)}: {values}")
        if point.found.tolerance is not None:
            print(f"     {point.found.tolerance.text}")
    print(f"  {told.evaluations} evaluations in {told.seconds:.1f} s")
    _print_findings(told.findings)
    return _status(told.findings)


def _with_builds(told: TradeOff, wish: Wish, builds: int) -> TradeOff:
    points = []
    for point in told.points:
        at, found = told.sweep.wish_at(wish, point.value), point.found
        one = None if found is None else scattered([found], at, builds=builds)[0]
        points.append(replace(point, found=one))
    return replace(told, points=tuple(points))


def _netlist(arguments: argparse.Namespace) -> int:
    if arguments.output.suffix.lower() != ".cir":
        raise InputError("--output", arguments.output, "a file ending in .cir")
    results = evaluate(changed(storage.load(arguments.file), arguments.set))
    write_whole(arguments.output, stage_netlist(results).encode("ascii"))
    return _status(results.findings)


def _drawer(arguments: argparse.Namespace) -> Drawer | None:
    """The drawer of a file, or the one that the window keeps; None where none is asked for."""
    if arguments.drawer is None:
        return None
    file = arguments.drawer or data_folder(os.environ) / DRAWER
    return drawer_from_text(read_text(file))


def _free(design: Design, text: str, drawer: Drawer | None) -> Free:
    path, _, value = text.partition("=")
    if value.strip() != "drawer":
        return free_from_text(design, text)
    if drawer is None:
        raise InputError("--free", text, "with --drawer or --drawer FILE.csv")
    return free_from_drawer(design, path.strip(), drawer)


def _range(text: str, unit: str, field: str) -> tuple[float, float]:
    first, separator, second = text.partition(":")
    low = quantity(first, unit, field=field)
    high = quantity(second, unit, field=field) if separator else low
    if high < low:
        raise InputError(field, text, "LOW:HIGH with LOW below HIGH")
    return low, high


def _status(findings: tuple[Finding, ...]) -> int:
    return STOPPED if any(item.severity is Severity.STOP for item in findings) else DONE


def _print_findings(findings: tuple[Finding, ...]) -> None:
    for item in findings:
        print(f"  {item.severity.value}: {item.text}")


def _print_json(content: dict[str, Any]) -> None:
    plain = not writes_unicode(sys.stdout)
    print(json.dumps(content, indent=2, ensure_ascii=plain, allow_nan=False))
