#!/bin/sh
# Sets Loomleaf up in this checkout and runs it.
#
#   sh generator/setup.sh print [words...]   set up, then print the demo into build/
#   sh generator/setup.sh test  [words...]   set up for testing, then run the tests
#
# print: with no words, or with options only, every sheet of every demo job and the handbook are made
#        (`loomleaf print all OPTIONS`, `loomleaf publish OPTIONS`). With other words, `loomleaf print WORDS` runs instead.
# test:  the words go to pytest.
#
# It runs in the checkout's own folder, whatever folder you are in. It may be run again at any time: what is done
# already is passed over. It writes into .venv/ and build/ only; system packages are installed with apt-get where
# there is apt-get, and named where there is not. PYTHON names the Python to use, if you want a certain one.

set -eu

say() { printf '%s\n' "setup: $*" >&2; }
stop() {
  say "$*"
  exit 1
}

usage() {
  sed -n '4,5s/^# *//p' "$0" >&2
  exit 2
}

# Pango lays out text, and HarfBuzz's subsetter makes small fonts that are the same on every run.
apt_libraries="libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"

# What the packages are called elsewhere. From memory, not tried: your system's own package search has the last word.
name_packages_elsewhere() {
  say "On this system, install these by hand, then run this again (package names from memory, not tried here):"
  say "  Fedora:       sudo dnf install python3 pango harfbuzz"
  say "  Arch:         sudo pacman -S python pango harfbuzz"
  say "  Alpine:       sudo apk add python3 pango harfbuzz-subset"
  say "  macOS (brew): brew install python pango harfbuzz"
}

# apt_install PACKAGE...: true when they are installed at the end.
apt_install() {
  command -v apt-get >/dev/null 2>&1 || return 1
  if [ "$(id -u)" -eq 0 ]; then
    as_root=""
  elif command -v sudo >/dev/null 2>&1; then
    as_root="sudo"
    say "Asking sudo for the right to install: $*"
  else
    say "Neither root nor sudo here. Somebody who may install packages has to run:"
    say "  apt-get install -y $*"
    return 1
  fi
  say "Installing system packages: $*"
  # A list of packages that is missing or old is fetched once.
  $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends "$@" >&2 && return 0
  say "Not found as it is. Fetching the list of packages first."
  $as_root apt-get update >&2 || return 1
  $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends "$@" >&2
}

new_enough() { "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; }

# Sets $python to a Python of at least 3.11.
find_python() {
  if [ -n "${PYTHON:-}" ]; then
    python=$PYTHON
    new_enough "$python" || stop "PYTHON names '$PYTHON', which is not a Python 3.11 or newer."
    return 0
  fi
  for python in python3 python3.14 python3.13 python3.12 python3.11; do
    if new_enough "$python"; then return 0; fi
  done
  if command -v python3 >/dev/null 2>&1; then
    say "Python 3.11 or newer is needed; python3 here is $(python3 -V 2>&1 | sed 's/^Python //')."
    stop "Install a newer one, or name it: PYTHON=/path/to/python3.12 sh generator/setup.sh ..."
  fi
  say "There is no python3 here."
  if apt_install python3 python3-venv && new_enough python3; then
    python=python3
    return 0
  fi
  name_packages_elsewhere
  stop "Python 3.11 or newer is needed."
}

# Debian and Ubuntu keep the part of Python that makes a .venv in a package of its own.
need_venv() {
  if "$python" -c 'import ensurepip, venv' >/dev/null 2>&1; then return 0; fi
  say "This Python cannot make a virtual environment yet."
  version=$("$python" -c 'import sys; print("python%d.%d-venv" % sys.version_info[:2])')
  # The package with the version in its name fits the Python that was found; the plain one fits the system's own.
  if apt_install "$version" || apt_install python3-venv; then
    if "$python" -c 'import ensurepip, venv' >/dev/null 2>&1; then return 0; fi
  fi
  stop "Install the part of Python that makes virtual environments (Debian, Ubuntu: python3-venv), then run this again."
}

have_libraries() {
  "$venv/bin/python" - <<'PY' >/dev/null 2>&1
import ctypes
for name in ("libpango-1.0.so.0", "libpangoft2-1.0.so.0", "libharfbuzz-subset.so.0"):
    ctypes.CDLL(name)
PY
}

need_libraries() {
  if [ "$(uname -s)" = Linux ]; then
    if have_libraries; then return 0; fi
    say "Pages are laid out with Pango and HarfBuzz; something of them is missing here."
    # shellcheck disable=SC2086
    if apt_install $apt_libraries && have_libraries; then return 0; fi
  fi
  if "$venv/bin/python" -c 'import weasyprint' >/dev/null 2>&1; then
    say "Pages can be laid out, but HarfBuzz's subsetter was not seen: printing is slower, and PDFs differ in their bytes."
    return 0
  fi
  command -v apt-get >/dev/null 2>&1 || name_packages_elsewhere
  stop "Pango is needed: nothing can be printed without it."
}

# Some proofs need programs beside Python: a browser, a dictionary, Java for the checker of pages, a second writer of PDFs,
# the shells that complete commands. They are installed
# where that can be done, when a checkout is set up for testing and always in continuous integration (CI set). Without
# them those tests are passed over with a word; in continuous integration they fail.
offer_programs() {
  wanted=""
  command -v chromium >/dev/null 2>&1 || command -v chromium-browser >/dev/null 2>&1 ||
    command -v google-chrome >/dev/null 2>&1 || wanted="$wanted chromium"
  command -v hunspell >/dev/null 2>&1 || wanted="$wanted hunspell hunspell-en-gb"
  command -v java >/dev/null 2>&1 || wanted="$wanted default-jre-headless"
  for program in qpdf zsh fish; do
    command -v "$program" >/dev/null 2>&1 || wanted="$wanted $program"
  done
  if [ -z "$wanted" ]; then return 0; fi
  # shellcheck disable=SC2086
  if [ "$1" = new ] || [ -n "${CI:-}" ]; then apt_install $wanted && return 0; fi
  say "Not installed, so the tests that use them are passed over (in continuous integration they fail):$wanted"
}

# The stamp says what was installed: for which checkout, Python and pyproject.toml. Any change installs again.
stamp_text() {
  printf '%s\n%s\n' "$root" "$1"
  cksum <pyproject.toml
  "$venv/bin/python" -V 2>&1
}

is_set_up() {
  [ -x "$venv/bin/python" ] && [ -f "$venv/loomleaf-$1" ] && [ "$(stamp_text "$1")" = "$(cat "$venv/loomleaf-$1")" ]
}

# Programs in a .venv hold its full path, so one that was copied or moved along with the checkout is of no use.
made_elsewhere() {
  for stamp in "$venv/loomleaf-print" "$venv/loomleaf-test"; do
    if [ -f "$stamp" ] && [ "$(sed -n 1p "$stamp")" != "$root" ]; then return 0; fi
  done
  return 1
}

# set_up print|test
set_up() {
  if is_set_up "$1"; then return 0; fi
  # What tests need includes what printing needs.
  if [ "$1" = print ] && is_set_up test; then return 0; fi
  find_python
  need_venv
  if ! "$venv/bin/python" -m pip --version >/dev/null 2>&1; then
    say "Making $venv with $("$python" -V 2>&1)."
    "$python" -m venv --clear "$venv"
  elif ! new_enough "$venv/bin/python" || made_elsewhere; then
    say "Making $venv anew: it was made with an older Python or for another folder."
    "$python" -m venv --clear "$venv"
  fi
  what=.
  if [ "$1" = test ]; then what='.[test]'; fi
  say "Installing Loomleaf and the libraries it uses into $venv (a minute or so)."
  "$venv/bin/python" -m pip install --quiet --disable-pip-version-check --editable "$what" >&2 ||
    stop "The libraries could not be installed; the lines above say why. A package index has to be in reach the first time."
  need_libraries
  stamp_text "$1" >"$venv/loomleaf-$1.new"
  mv "$venv/loomleaf-$1.new" "$venv/loomleaf-$1"
  say "Set up."
}

mode=${1:-}
case $mode in
  print | test) shift ;;
  *) usage ;;
esac

here=$(dirname "$0")
root=$(CDPATH='' cd -- "$here/.." && pwd -P)
cd -- "$root"
venv=.venv

fresh=new
if is_set_up "$mode"; then fresh=no; fi
set_up "$mode"

if [ "$mode" = test ]; then
  offer_programs "$fresh"
  # On every processor; each takes over from the others what is left. A later word, such as -n 0, has the last say.
  exec "$venv/bin/python" -m pytest -n auto --dist worksteal "$@"
fi

case ${1:-} in
  "" | -*) ;;
  *) exec "$venv/bin/loomleaf" print "$@" ;;
esac

say "Printing every sheet of the demo into build/."
status=0
"$venv/bin/loomleaf" print all "$@" || status=$?
say "Publishing the handbook into build/."
"$venv/bin/loomleaf" publish "$@" || status=$?
exit "$status"
