"""The same bytes wherever and however the command runs, and no file of the place has a say in them."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

LOCALES = {"de_DE": "a decimal comma", "tr_TR": "an i without a dot"}
BAND = ("--band", "40 m")  # one is enough, and is over
SPARED = ("LC_", "LANG", "PYTHON", "HOME", "XDG_", "SPICE", "NO_COLOR", "TERM", "COLUMNS")


def surroundings(**variables: str) -> dict[str, str]:
    """Return this process's variables without those that may have a say, and with some of ours."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(SPARED)}
    return kept | variables


@pytest.fixture(scope="module")
def run(circuits: Path) -> Callable[..., subprocess.CompletedProcess[bytes]]:
    """Run ``check`` of the demonstration."""

    def check(
        *extra: str, folder: Path | None = None, flags: tuple[str, ...] = (), **variables: str
    ) -> subprocess.CompletedProcess[bytes]:
        return subprocess.run(
            [sys.executable, *flags, "-m", "netsim", "check", str(circuits / "new-tube.toml"), *BAND, *extra],
            cwd=folder,
            env=surroundings(**variables),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=120,
        )

    return check


@pytest.fixture(scope="module")
def usual(run) -> dict[str, bytes]:
    """Take what it prints where nothing is special, as a table and as JSON."""
    found = {}
    for form, extra in {"table": [], "json": ["--json"]}.items():
        done = run(*extra, HOME="/root", LC_ALL="C.UTF-8")
        assert (done.returncode, done.stderr) == (1, b"")
        found[form] = done.stdout
    return found


def assert_usual(run, usual, **how) -> None:
    for form, extra in {"table": [], "json": ["--json"]}.items():
        done = run(*extra, **how)
        assert done.stderr == b""
        assert done.returncode == 1
        assert done.stdout == usual[form]


@pytest.fixture(scope="module")
def made_locales(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the locales that the system has definitions of, in a folder of ours."""
    folder = tmp_path_factory.mktemp("locales")
    for name in LOCALES:
        if shutil.which("localedef") and Path("/usr/share/i18n/locales", name).exists():
            subprocess.run(
                ["localedef", "-i", name, "-f", "UTF-8", str(folder / f"{name}.utf8")],
                check=False,
                capture_output=True,
            )
    return folder


@pytest.mark.parametrize("name", LOCALES)
def test_under_other_locales(run, usual, made_locales, name):
    if not (made_locales / f"{name}.utf8").exists():
        pytest.skip(f"no localedef, or no definition of {name}, with {LOCALES[name]}")
    how = {"LC_ALL": f"{name}.utf8", "LOCPATH": str(made_locales)}
    probe = "import locale; locale.setlocale(locale.LC_ALL, ''); print(locale.localeconv()['decimal_point'])"
    shown = subprocess.run(
        [sys.executable, "-c", probe], env=surroundings(**how), capture_output=True, text=True
    )
    assert shown.stdout.strip() == ","  # both write a comma, so the locale is really there
    assert_usual(run, usual, **how)


@pytest.mark.parametrize("variables", [{"LC_ALL": "C"}, {"LANG": "C"}, {"LC_ALL": "nowhere.UTF-8"}, {}])
def test_under_plain_locales(run, usual, variables):
    assert_usual(run, usual, **variables)


@pytest.mark.parametrize("flags", [("-O",), ("-OO",), ("-W", "error"), ("-I",), ("-B", "-X", "dev")])
def test_with_flags_of_the_interpreter(run, usual, flags):
    if flags == ("-I",):
        probe = subprocess.run([sys.executable, "-I", "-c", "import netsim"], capture_output=True, cwd="/")
        if probe.returncode:
            pytest.skip("netsim is not installed here, only in the current folder")
    assert_usual(run, usual, flags=flags)


@pytest.mark.parametrize("home", ["/nonexistent", "/proc", ""])
def test_homes_that_cannot_be_written(run, usual, home):
    assert_usual(run, usual, HOME=home)


@pytest.mark.parametrize("flags", [("-P",), ()])
def test_packages_of_the_current_folder(run, usual, trapped, flags):
    """Those that only the engine's process needs, also where Python itself looks there (``python -m``)."""
    done = run("--json", folder=trapped, flags=flags, HOME=str(trapped))
    assert (done.returncode, done.stderr, done.stdout) == (1, b"", usual["json"])


@pytest.mark.slow
def test_without_a_home(run, usual):
    assert_usual(run, usual)


@pytest.fixture
def trapped(tmp_path: Path) -> Iterator[Path]:
    """Fill a folder with files that something might run; they leave a mark if it does."""
    mark = tmp_path / "MARK"
    python = f"import pathlib; pathlib.Path({str(mark)!r}).touch()\n"
    for name in ("sitecustomize.py", "usercustomize.py", "PySpice.py", "cffi.py", "start.py"):
        (tmp_path / name).write_text(python)
    yield tmp_path
    assert not mark.exists()


SCRIPTS = [
    "shell touch {mark}",
    "quit",
    "while 1\nend",
    "option rshunt = 1000",
    "set ngbehavior=ps",
    "source nowhere",
]


@pytest.mark.parametrize(
    ("name", "script"), [*((".spiceinit", script) for script in SCRIPTS), ("spice.rc", SCRIPTS[0])]
)
def test_start_up_files_of_the_engine(run, usual, trapped, name, script):
    """In the current folder, in the home folder, and where the engine's own variables point to."""
    (trapped / "scripts").mkdir()
    for folder in (trapped, trapped / "scripts"):
        (folder / name).write_text(f"{script}\n".format(mark=trapped / "MARK"))
        (folder / "spinit").write_text(f"{script}\n".format(mark=trapped / "MARK"))
    done = run(
        "--json",
        folder=trapped,
        flags=("-P",),  # without the current folder on the path, as the installed command runs
        HOME=str(trapped),
        SPICE_LIB_DIR=str(trapped),
        SPICE_SCRIPTS=str(trapped),
        PYTHONSTARTUP=str(trapped / "start.py"),
    )
    assert (done.returncode, done.stderr) == (1, b"")
    assert done.stdout == usual["json"]


LOOK_UP = """
#include <pwd.h>
#include <stdlib.h>
#include <sys/types.h>
struct passwd *getpwuid(uid_t uid) {
    static struct passwd found;
    found.pw_name = found.pw_passwd = found.pw_gecos = found.pw_shell = "";
    found.pw_uid = uid;
    found.pw_dir = "HOME_FOLDER";
    return &found;
}
"""


@pytest.mark.skipif(shutil.which("cc") is None, reason="needs a C compiler")
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="needs LD_PRELOAD")
def test_the_home_folder_that_the_system_lists(tmp_path):
    """Some builds look it up there and not in HOME; here the look-up is made to find a trap.

    The same library without our guards runs it, which shows that the trap works.
    """
    from engines import fake, in_its_place

    from netsim.solvers import spice

    mark = tmp_path / "MARK"
    (tmp_path / ".spiceinit").write_text(f"* trap\nshell touch {mark}\n")
    (tmp_path / "look_up.c").write_text(LOOK_UP.replace("HOME_FOLDER", str(tmp_path)))
    library = tmp_path / "look_up.so"
    subprocess.run(["cc", "-shared", "-fPIC", "-o", str(library), str(tmp_path / "look_up.c")], check=True)
    before = ("env", f"LD_PRELOAD={library}")
    careless = (
        "import contextlib\nengine_program._empty = lambda folder: contextlib.nullcontext()\nos.chdir('/')"
    )
    with in_its_place(lambda: fake(careless, *before)):
        spice.version()
        ran = mark.exists()
    mark.unlink(missing_ok=True)
    with in_its_place(lambda: fake("", *before)):
        spice.version()
    assert not mark.exists()
    if not ran:
        pytest.skip("this build of ngspice does not look there")


@pytest.mark.slow
def test_a_page_knows_no_settings_of_the_drawing_library(tmp_path, circuits):
    """Not those in the folder, nor the back end that notebooks export."""
    (tmp_path / "matplotlibrc").write_text("font.size: 30\nlines.linewidth: 9\nno.such: 1\n")
    pages = []
    for folder, extra in (
        (circuits, {}),
        (tmp_path, {"MPLBACKEND": "module://nothing.there", "HOME": "/nonexistent"}),
    ):
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "netsim",
                "report",
                str(circuits / "old-tubes.toml"),
                "--engine",
                "two-port",
                "-o",
                "-",
            ],
            cwd=folder,
            env=surroundings(**{"HOME": str(tmp_path), **extra}),
            capture_output=True,
            timeout=300,
        )
        assert done.returncode == 0
        assert b"matplotlib" not in done.stderr.lower()
        pages.append(done.stdout)
    assert pages[0] == pages[1]
