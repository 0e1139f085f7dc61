"""A bare Debian in a folder, and a hand that uses the program in it through a screen.

A window system is all that is lent to it: the socket of a virtual screen. Used by
`check_bundle.py` and `check_readme.py`; not collected by pytest. Needs root, debootstrap, Xvfb and
xdotool.
"""

from __future__ import annotations

import os
import shlex
import shutil
import signal
import struct
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import Final

RELEASE: Final = "bookworm"
MIRROR: Final = "http://deb.debian.org/debian"
PATIENCE: Final = 600.0
HOME: Final = "/home/builder"
ACCENT: Final = bytes.fromhex("666a0a")
"""Colour of a slider's filled part and of the curves, blue first."""
PAGE: Final = 255
"""Pixel right of the list of screens."""
HEAD: Final = 300
"""Line above which the operating point has its sliders."""
CURVES: Final = 900
"""More pixels in that colour than the page has without figures, fewer than with them."""
NETWORK: Final = ("PIP_CERT", "PIP_INDEX", "SSL_", "HTTP", "http", "NO_PROXY", "no_proxy")
SOCKETS: Final = Path("/tmp/.X11-unix")
_CAUTIONS: Final = "Welcome|Before you build"
_MAIN: Final = "Burstwise"
_DIALOG: Final = "Save build sheet"


class CheckError(Exception):
    """What the bare system, or the program in it, did not do."""


def needed(*programs: str) -> None:
    """End with a word where this machine lacks what the check stands on."""
    missing = [name for name in programs if shutil.which(name) is None]
    if missing or os.geteuid() != 0:
        raise SystemExit(f"needs root and {', '.join(programs)}; missing: {missing or 'root'}")


class BareSystem:
    """Debian's least in a folder; what runs in it sees no other file of this machine.

    Parameters
    ----------
    root : Path
        An empty folder.
    like : Path, optional
        A folder made by debootstrap before; else it is made now.
    """

    def __init__(self, root: Path, like: Path | None = None) -> None:
        self.root = root
        if like is None:
            _told("debootstrap", "--variant=minbase", RELEASE, str(root), MIRROR)
        else:
            _told("cp", "-a", f"{like}/.", str(root))
        self.do("useradd", "--create-home", "--shell", "/bin/sh", "--home-dir", HOME, "builder")

    def install(self, *packages: str) -> None:
        """Install packages of Debian."""
        shutil.copy("/etc/resolv.conf", self.root / "etc" / "resolv.conf")
        self.do("apt-get", "update", "-q", network=True)
        self.do("apt-get", "install", "-y", "-q", "--no-install-recommends", *packages,
                network=True)  # fmt: skip

    def do(self, *words: str, network: bool = False, user: str = "root") -> str:
        """Standard output of a command in it that must succeed."""
        return _told(*self._within(words, network=network, user=user, screen=None))

    def start(
        self, *words: str, screen: Screen, network: bool = False, errors: int | None = None
    ) -> subprocess.Popen[str]:
        """Start a program in it, as a user who may write at home alone, on a screen."""
        return subprocess.Popen(
            self._within(words, network=network, user="builder", screen=screen),
            stderr=errors,
            encoding="utf-8",
        )

    def lend_network(self) -> None:
        """Give it this machine's certificates, where a proxy has some of its own."""
        for name in ("SSL_CERT_FILE", "PIP_CERT"):
            file = os.environ.get(name)
            if file and Path(file).is_file():
                there = self.root / file.lstrip("/")
                there.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(file, there)

    def processor_time(self) -> float:
        """Processor time of all that runs in it now, with its ended children [s]."""
        total = 0
        for process in self._processes():
            with suppress(OSError):
                numbers = (process / "stat").read_text().rpartition(")")[2].split()
                total += sum(map(int, numbers[11:15]))
        return total / os.sysconf("SC_CLK_TCK")

    def end_all(self) -> None:
        """End what runs in it; a change of user makes it outlive what started it."""
        for process in self._processes():
            with suppress(ProcessLookupError):
                os.kill(int(process.name), signal.SIGKILL)

    def _processes(self) -> Iterator[Path]:
        for process in Path("/proc").glob("[0-9]*"):
            with suppress(OSError):
                if os.readlink(process / "root") == str(self.root):
                    yield process

    def _within(
        self, words: tuple[str, ...], *, network: bool, user: str, screen: Screen | None
    ) -> list[str]:
        settings = {"PATH": "/usr/local/bin:/usr/bin:/bin:/usr/sbin:/sbin", "LANG": "C.UTF-8",
                    "HOME": HOME if user == "builder" else "/root",
                    "DEBIAN_FRONTEND": "noninteractive"}  # fmt: skip
        root = shlex.quote(str(self.root))
        mounts = [f"mount -t proc proc {root}/proc"]
        if screen is not None:
            settings["DISPLAY"] = screen.name
            mounts.append(f"mkdir -p -m 1777 {root}{SOCKETS}")
            mounts.append(f"mount --bind {SOCKETS} {root}{SOCKETS}")
            # For the semaphores of further processes.
            mounts.append(f"mkdir -p {root}/dev/shm")
            mounts.append(f"mount -t tmpfs tmpfs {root}/dev/shm")
        if network:
            settings |= {
                name: value for name, value in os.environ.items() if name.startswith(NETWORK)
            }
        given = shlex.join(f"{name}={value}" for name, value in settings.items())
        inner = f"{' && '.join(mounts)} && exec chroot --userspec={user} {root} env -i {given}"
        # Mounts, processes and, where it has none, the network are its own and end with it.
        return [
            "unshare", "--mount", "--pid", "--fork", "--kill-child",
            *([] if network else ["--net"]), "sh", "-c", f"{inner} {shlex.join(words)}",
        ]  # fmt: skip


class Screen:
    """A virtual screen: its windows by title, its keys and mouse, its picture as bytes."""

    def __init__(self, name: str, picture: Path) -> None:
        self.name = name
        self._picture = picture

    def windows(self, title: str) -> list[str]:
        """Windows whose title has these words."""
        found = self._tool("search", "--onlyvisible", "--name", title, check=False)
        return found.split()

    def press(self, window: str, key: str) -> None:
        """Press keys with a window in front."""
        self._tool("windowfocus", window, "key", "--clearmodifiers", key, check=False)

    def type(self, words: str) -> None:
        """Type words into what has the focus."""
        self._tool("type", "--delay", "30", words)

    def drag(self, line: int, start: int, end: int, *, steps: int = 25) -> None:
        """Move from pixel to pixel of a line with the button held, in small steps."""
        self._tool("mousemove", str(start), str(line), "mousedown", "1")
        for step in range(1, steps + 1):
            place = start + (end - start) * step // steps
            self._tool("mousemove", str(place), str(line))
            time.sleep(0.02)
        self._tool("mouseup", "1")

    def lines(self) -> list[bytes]:
        """Lines of the picture, three bytes a pixel, blue first."""
        data = self._picture.read_bytes()
        head = struct.unpack(">25I", data[:100])
        begin, high, wide = head[0] + 12 * head[19], head[5], head[12]
        colours = bytearray(high * wide // 4 * 3)
        for colour in range(3):
            colours[colour::3] = data[begin + colour : begin + high * wide : 4]
        wide = wide // 4 * 3
        return [bytes(colours[wide * row : wide * (row + 1)]) for row in range(high)]

    def slider(self) -> tuple[int, int, int] | None:
        """First slider of the page: its line, the pixels of its groove's begin and its handle."""
        lines = self.lines()
        for row in range(len(lines) - 8):
            begin = _filled(lines[row + 2])
            # A groove is four pixels high; rounded corners shorten its first and last line.
            if begin is None or [_mostly(line, begin) for line in lines[row : row + 7]] != [
                False, True, True, True, True, False, False,
            ]:  # fmt: skip
                continue
            return row + 2, begin, _run_from(lines[row + 2], begin) + 6
        return None

    def curves(self) -> int:
        """Pixels below the sliders in the colour of curves."""
        found = self.slider()
        begin = 0 if found is None else found[0] + 20
        return sum(line[3 * PAGE :].count(ACCENT) for line in self.lines()[begin:])

    def _tool(self, *words: str, check: bool = True) -> str:
        done = subprocess.run(
            ["xdotool", *words], env=os.environ | {"DISPLAY": self.name},
            capture_output=True, encoding="utf-8", check=False,
        )  # fmt: skip
        if check and done.returncode:
            raise CheckError(f"xdotool {words[0]}: {done.stderr.strip()}")
        return done.stdout


def _filled(line: bytes) -> int | None:
    """First of twenty pixels of a page in the colour of a slider's filled part."""
    place = line.find(ACCENT * 20, 3 * PAGE)
    while place > 0 and place % 3:
        place = line.find(ACCENT * 20, place + 1)
    return None if place < 0 else place // 3


def _mostly(line: bytes, begin: int) -> bool:
    """Whether most of the twenty pixels from there are of that colour."""
    return line[3 * begin : 3 * (begin + 20)].count(ACCENT) > 16


def _run_from(line: bytes, begin: int) -> int:
    """First pixel that differs from those before it."""
    end, colour = begin, line[3 * begin : 3 * begin + 3]
    while line[3 * end : 3 * end + 3] == colour:
        end += 1
    return end


@contextmanager
def virtual_screen(folder: Path) -> Iterator[Screen]:
    """A virtual screen that ends with the block."""
    reading, writing = os.pipe()
    SOCKETS.mkdir(mode=0o1777, exist_ok=True)
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1366x768x24", "-ac", "-noreset",
         "-fbdir", str(folder)],
        pass_fds=[writing], stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(writing)
    try:
        with os.fdopen(reading) as told:
            number = told.readline().strip()
        if not number:
            raise CheckError("the virtual screen did not start")
        yield Screen(f":{number}", folder / "Xvfb_screen0")
    finally:
        server.terminate()
        server.wait()


class Steps:
    """Steps with their times, printed as a table at the end."""

    def __init__(self, system: BareSystem) -> None:
        self._system = system
        self.rows: list[tuple[str, float, float, bool]] = []

    @contextmanager
    def step(self, words: str, *, counts: bool = True) -> Iterator[None]:
        """Time a step; one that does not count only prepares."""
        began, busy = time.monotonic(), self._busy()
        yield
        seconds, used = time.monotonic() - began, self._busy() - busy
        self.rows.append((words, seconds, used, counts))
        print(f"{seconds:7.1f} s, processor {used:6.1f} s  {words}", flush=True)

    def judge(self, limit: float) -> int:
        """Print the table and whether what counts is within a limit [s]; the exit status."""
        total = sum(seconds for _, seconds, _, counts in self.rows if counts)
        used = sum(busy for _, _, busy, counts in self.rows if counts)
        print("\n| Step | Time | Processor |\n|---|--:|--:|")
        for words, seconds, busy, counts in self.rows:
            print(
                f"| {words}{'' if counts else ' (not counted)'} | {seconds:.1f} s | {busy:.1f} s |"
            )
        print(f"| together | {total:.1f} s | {used:.1f} s |")
        print(
            f"load of this machine at the end: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
        )
        within = total <= limit
        print(f"{'within' if within else 'LONGER THAN'} {limit:.0f} s")
        return 0 if within else 1

    def _busy(self) -> float:
        ended = os.times()
        return self._system.processor_time() + ended.children_user + ended.children_system


def wait_for(what: str, there: Callable[[], object], running: subprocess.Popen[str]) -> None:
    """Wait until something is there; fail where the program ends before, or patience does."""
    until = time.monotonic() + PATIENCE
    while not there():
        if running.poll() is not None:
            raise CheckError(f"the program ended with status {running.returncode} before {what}")
        if time.monotonic() > until:
            raise CheckError(f"no {what} within {PATIENCE:.0f} s")
        time.sleep(0.1)


def start_twice(
    steps: Steps,
    system: BareSystem,
    screen: Screen,
    start: Callable[[bool], subprocess.Popen[str]],
) -> None:
    """Use the program from its first start to a sheet, and once more; the first time counts.

    `start` is told whether it is the second time.
    """
    for again in (False, True):
        # The cautions come again, and nothing is offered of what was not saved.
        system.do("rm", "-rf", f"{HOME}/.config/burstwise", f"{HOME}/.local/share/burstwise")
        running = start(again)
        try:
            sheet = f"{HOME}/{'second' if again else 'first'}.html"
            use(steps, system, screen, running, sheet, again=again)
        finally:
            system.end_all()
            running.wait()


def use(
    steps: Steps,
    system: BareSystem,
    screen: Screen,
    running: subprocess.Popen[str],
    sheet: str,
    *,
    again: bool,
) -> None:
    """Read the cautions, drag the supply, save the sheet by keys."""
    when = "second start: " if again else ""

    def step(words: str) -> AbstractContextManager[None]:
        return steps.step(f"{when}{words}", counts=not again)

    with step("to the cautions on the screen"):
        wait_for("window with the cautions", lambda: screen.windows(_CAUTIONS), running)
    with step("cautions read, to the operating point"):
        while found := screen.windows(_CAUTIONS):
            screen.press(found[0], "Return")
            time.sleep(0.3)
        wait_for("one main window", lambda: len(screen.windows(_MAIN)) == 1, running)
        (window,) = screen.windows(_MAIN)

        def at_the_point() -> bool:
            screen.press(window, "ctrl+5")
            time.sleep(0.3)
            found = screen.slider()  # the first screen has sliders too, at its lower edge
            return found is not None and found[0] < HEAD

        wait_for("slider of the supply", at_the_point, running)
    with step("to the first figures"):
        wait_for("curves", lambda: screen.curves() > CURVES, running)
    with step("supply dragged by the mouse, curves moved"):
        line, begin, handle = screen.slider() or (0, 0, 0)
        before = screen.lines()[line + 40 :]
        travel = (handle - begin) // 3
        screen.drag(line, handle, handle - travel)

        def moved() -> bool:
            now = screen.slider()  # a handle under the mouse has the colour of what is filled
            return now is not None and now[2] < handle - travel // 2

        wait_for("moved handle", moved, running)
        wait_for("moved curves", lambda: screen.lines()[line + 40 :] != before, running)
    with step("build sheet saved by keys"):
        screen.press(window, "ctrl+8")

        def asked() -> bool:
            if screen.windows(_DIALOG):
                return True
            screen.press(window, "alt+u")
            time.sleep(0.3)
            return False

        wait_for("dialog for the sheet", asked, running)
        (dialog,) = screen.windows(_DIALOG)
        time.sleep(0.5)
        screen.press(dialog, "ctrl+a")
        screen.type(sheet)
        saved = system.root / sheet.lstrip("/")

        def there() -> bool:
            for dialog in screen.windows(_DIALOG):
                screen.press(dialog, "Return")  # the first may close a list of names
                time.sleep(0.3)
            return saved.exists() and saved.stat().st_size > 0

        wait_for("sheet", there, running)
    size = saved.stat().st_size
    if size < 10_000 or b"</html>" not in saved.read_bytes()[-200:]:
        raise CheckError(f"a sheet of {size} bytes is none")
    print(f"sheet of {size / 1e3:.0f} kB", flush=True)


def _told(*words: str) -> str:
    done = subprocess.run(words, capture_output=True, encoding="utf-8", check=False)
    if done.returncode:
        raise CheckError(f"{' '.join(words)}: status {done.returncode}\n{done.stdout[-1500:]}\n"
                     f"{done.stderr[-1500:]}")  # fmt: skip
    return done.stdout
