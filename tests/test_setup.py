"""The set-up script under a plain POSIX shell, with stand-ins for Python and apt-get: nothing is installed."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

SHELL = shutil.which("dash") or "/bin/sh"  # dash knows nothing beyond POSIX
TOOLS = ("sh", "sed", "dirname", "uname", "cat", "cksum", "mv", "mkdir", "cp", "chmod", "touch", "rm", "env")

# A Python that says which version it is, makes a .venv of itself, and writes down what else it is asked to do.
PYTHON = """#!/bin/sh
case "$*" in
  *version_info\\ \\<*) exit {old} ;;
  -V) echo "Python {version}" ;;
  *ensurepip*) exit 0 ;;
  "-m venv "*) mkdir -p .venv/bin; cp "$0" .venv/bin/python; cp "${{0%/*}}/loomleaf" .venv/bin/loomleaf ;;
  - | *"import weasyprint"*) [ ! -f no-pango ] ;;
  "-m pip --version") [ "$0" = .venv/bin/python ] ;;
  *) for word in "$@"; do printf '[%s]' "$word"; done >>calls; echo >>calls ;;
esac
"""
LOOMLEAF = """#!/bin/sh
printf '[loomleaf]' >>calls; for word in "$@"; do printf '[%s]' "$word"; done >>calls; echo >>calls
[ "$1" != publish ] || [ ! -f publish-fails ]
"""


# An apt-get that knows no package until its list was fetched.
APT = """#!/bin/sh
printf '[apt-get]' >>calls; for word in "$@"; do printf '[%s]' "$word"; done >>calls; echo >>calls
case $1 in
  update) touch fetched ;;
  install) [ -f fetched ] && rm -f no-pango ;;
esac
"""


class Checkout:
    """A bare checkout in a path with spaces, and a PATH that holds only what is put there."""

    def __init__(self, root: Path, tmp: Path) -> None:
        self.top = tmp / "work shop" / "loom leaf"
        (self.top / "generator").mkdir(parents=True)
        shutil.copy(root / "generator/setup.sh", self.top / "generator/setup.sh")
        (self.top / "pyproject.toml").write_text("[project]\n")
        self.bin = tmp / "bin"
        self.bin.mkdir()
        self.elsewhere = tmp / "elsewhere"
        self.elsewhere.mkdir()
        for tool in TOOLS:
            found = shutil.which(tool)
            assert found, tool
            (self.bin / tool).symlink_to(found)
        self.program("id", "#!/bin/sh\necho 1000\n")

    def program(self, name: str, text: str) -> None:
        path = self.bin / name
        path.write_text(text)
        path.chmod(0o755)

    def python(self, version: str = "3.12.1", *, old: bool = False) -> None:
        self.program("python3", PYTHON.format(version=version, old=int(old)))
        self.program("loomleaf", LOOMLEAF)

    def run(self, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
        script = self.top / "generator/setup.sh"
        return subprocess.run(
            [SHELL, str(script), *words],
            cwd=self.elsewhere,
            env={"PATH": str(self.bin), **more},
            capture_output=True,
            text=True,
            timeout=60,
        )

    @property
    def calls(self) -> list[str]:
        """What was asked of Python and of loomleaf since the last look, small look-ups left out."""
        path = self.top / "calls"
        lines = path.read_text().splitlines() if path.exists() else []
        path.unlink(missing_ok=True)
        return [line for line in lines if line.startswith(("[-m]", "[loomleaf]", "[apt-get]"))]


@pytest.fixture
def checkout(root: Path, tmp_path: Path) -> Checkout:
    return Checkout(root, tmp_path)


def test_wrong_use_says_how(checkout: Checkout) -> None:
    for words in ((), ("install",)):
        done = checkout.run(*words)
        assert done.returncode == 2
        assert done.stderr.splitlines() == [
            "sh generator/setup.sh print [words...]   set up, then print the demo into build/",
            "sh generator/setup.sh test  [words...]   set up for testing, then run the tests",
        ]


def test_an_old_python_is_named(checkout: Checkout) -> None:
    checkout.python("3.9.2", old=True)
    done = checkout.run("print")
    assert done.returncode == 1
    assert "Python 3.11 or newer is needed; python3 here is 3.9.2." in done.stderr


def test_without_python_or_apt_the_packages_are_named_as_from_memory(checkout: Checkout) -> None:
    done = checkout.run("print")
    assert done.returncode == 1
    assert "from memory" in done.stderr and "brew install python pango" in done.stderr


def test_without_the_right_to_install_the_command_is_named(checkout: Checkout) -> None:
    checkout.program("apt-get", "#!/bin/sh\nexit 0\n")
    done = checkout.run("print")
    assert done.returncode == 1
    assert "apt-get install -y python3 python3-venv" in done.stderr


def test_print_makes_everything_and_is_quick_the_second_time(checkout: Checkout) -> None:
    checkout.python()
    done = checkout.run("print")
    assert done.returncode == 0, done.stderr
    install = "[-m][pip][install][--quiet][--disable-pip-version-check][--editable][.]"
    assert checkout.calls == [install, "[loomleaf][print][all]", "[loomleaf][publish]"]
    assert list(checkout.elsewhere.iterdir()) == []
    again = checkout.run("print")
    assert again.returncode == 0
    assert checkout.calls == ["[loomleaf][print][all]", "[loomleaf][publish]"]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="elsewhere there is no apt-get")
def test_missing_libraries_are_installed(checkout: Checkout) -> None:
    checkout.python()
    checkout.program("id", "#!/bin/sh\necho 0\n")
    checkout.program("apt-get", APT)
    (checkout.top / "no-pango").touch()
    done = checkout.run("print")
    assert done.returncode == 0, done.stderr
    names = "[libpango-1.0-0][libpangoft2-1.0-0][libharfbuzz-subset0]"
    install = f"[apt-get][install][-y][--no-install-recommends]{names}"
    assert [call for call in checkout.calls if call.startswith("[apt-get]")] == [install, "[apt-get][update]", install]
    assert "Installing system packages: libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0" in done.stderr


def test_missing_libraries_that_cannot_be_installed_stop_it_each_time(checkout: Checkout) -> None:
    checkout.python()
    (checkout.top / "no-pango").touch()
    for _ in range(2):
        done = checkout.run("print")
        assert done.returncode == 1
        assert "Pango is needed" in done.stderr and "from memory" in done.stderr
        assert not [call for call in checkout.calls if call.startswith("[loomleaf]")]


def test_a_changed_pyproject_or_place_installs_again(checkout: Checkout) -> None:
    checkout.python()
    checkout.run("print")
    assert len(checkout.calls) == 3
    (checkout.top / "pyproject.toml").write_text("[project]\nname = 'x'\n")
    checkout.run("print")
    assert len(checkout.calls) == 3
    moved = checkout.top.with_name("moved")
    checkout.top.rename(moved)
    checkout.top = moved
    done = checkout.run("print")
    assert len(checkout.calls) == 3
    assert "anew" in done.stderr


def test_options_go_to_both_and_other_words_to_print(checkout: Checkout) -> None:
    checkout.python()
    checkout.run("print", "--paper", "Letter")
    assert checkout.calls[1:] == ["[loomleaf][print][all][--paper][Letter]", "[loomleaf][publish][--paper][Letter]"]
    checkout.run("print", "bench", "2041", "--out", "my build")
    assert checkout.calls == ["[loomleaf][print][bench][2041][--out][my build]"]


def test_a_failure_is_passed_on(checkout: Checkout) -> None:
    checkout.python()
    (checkout.top / "publish-fails").touch()
    assert checkout.run("print").returncode == 1


def test_test_installs_what_tests_need_and_passes_words_on(checkout: Checkout) -> None:
    checkout.python()
    done = checkout.run("test", "-k", "two words")
    assert done.returncode == 0, done.stderr
    assert checkout.calls == [
        "[-m][pip][install][--quiet][--disable-pip-version-check][--editable][.[test]]",
        "[-m][pytest][-n][auto][--dist][worksteal][-k][two words]",
    ]
    checkout.run("print")
    assert checkout.calls == ["[loomleaf][print][all]", "[loomleaf][publish]"]


def test_test_installs_the_programs_that_proofs_need_when_it_sets_up(checkout: Checkout) -> None:
    checkout.python()
    checkout.program("id", "#!/bin/sh\necho 0\n")
    checkout.program("apt-get", APT)
    checkout.program("hunspell", "#!/bin/sh\n")
    (checkout.top / "fetched").touch()
    install = "[apt-get][install][-y][--no-install-recommends][chromium][default-jre-headless][qpdf][zsh][fish]"
    assert checkout.run("test").returncode == 0
    assert install in checkout.calls
    # The stand-in installs nothing. A bench is not asked a second time; continuous integration is.
    done = checkout.run("test")
    assert install not in checkout.calls
    assert "tests that use them are passed over (in continuous integration they fail): chromium default" in done.stderr
    checkout.run("test", CI="true")
    assert install in checkout.calls


def test_what_integration_runs_is_the_set_up_for_testing(root: Path) -> None:
    lines = [line for line in (root / ".ci/run").read_text().splitlines() if not line.startswith("#")]
    assert lines == ['exec sh "$(dirname "$0")/../generator/setup.sh" test "$@"']
