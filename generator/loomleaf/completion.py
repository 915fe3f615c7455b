"""Completion of commands, options and choices in the shells people use, written from the parser itself."""

from __future__ import annotations

import argparse
from dataclasses import dataclass

SHELLS = ("bash", "zsh", "fish")


@dataclass(frozen=True, kw_only=True)
class Known:
    """One command as completion needs it: its options with their help and choices, and the choices of its first word."""

    name: str
    text: str
    options: dict[str, tuple[str, tuple[str, ...]]]
    words: tuple[str, ...]
    jobs: bool  # further words are job numbers


def known_commands(parser: argparse.ArgumentParser) -> tuple[Known, ...]:
    """Every command of a parser, in its order."""
    (commands,) = (a for a in parser._actions if isinstance(a, argparse._SubParsersAction))
    texts = {choice.dest: choice.help or "" for choice in commands._choices_actions}
    return tuple(_known(name, texts.get(name, ""), sub) for name, sub in commands.choices.items())


def _known(name: str, text: str, parser: argparse.ArgumentParser) -> Known:
    options = {}
    words: tuple[str, ...] = ()
    jobs = False
    for action in parser._actions:
        choices = tuple(str(choice) for choice in action.choices or ())
        if action.option_strings:
            options[max(action.option_strings, key=len)] = (_plain(action.help), choices)
        elif choices:
            words = words or choices
        elif action.metavar == "JOB":
            jobs = True
    return Known(name=name, text=_plain(text), options=options, words=words, jobs=jobs)


def _plain(text: str | None) -> str:
    """Help as one line that no shell reads anything into."""
    return "".join(c for c in (text or "").replace("\n", " ") if c.isalnum() or c in " ,.:;/-")


def script(shell: str, parser: argparse.ArgumentParser, reckon: tuple[str, ...] = ()) -> str:
    """The script for one of SHELLS. ``reckon`` are the topics of the command of that name, which has its own parser."""
    commands = tuple(
        Known(name=c.name, text=c.text, options=c.options, words=reckon, jobs=False) if c.name == "reckon" else c
        for c in known_commands(parser)
    )
    return {"bash": _bash, "zsh": _zsh, "fish": _fish}[shell](commands)


_JOBS = 'ls "${shop:-content}/jobs" 2>/dev/null | sed -n "s/\\.yaml\\$//p"'


def _bash(commands: tuple[Known, ...]) -> str:
    cases = []
    for c in commands:
        by_option = [f"      {name}) words='{' '.join(choices)}' ;;" for name, (_, choices) in c.options.items() if choices]
        jobs = f"\n      words=\"$words $({_JOBS})\"" if c.jobs else ""
        inner = "\n".join(
            [
                "    case \"$before\" in",
                *by_option,
                "      --shop|--out|--schemas) COMPREPLY=($(compgen -d -- \"$now\")); return ;;",
                f"      *) words='{' '.join([*c.words, *c.options])}'{jobs} ;;",
                "    esac ;;",
            ]
        )
        cases.append(f"  {c.name})\n{inner}")
    names = " ".join(c.name for c in commands)
    body = "\n".join(cases)
    return f"""# Completion for bash. Use it with:  source <(loomleaf completion bash)
_loomleaf() {{
  local now="${{COMP_WORDS[COMP_CWORD]}}" before="${{COMP_WORDS[COMP_CWORD-1]}}" command="${{COMP_WORDS[1]}}" words="" shop="" i
  for ((i = 1; i < COMP_CWORD; i++)); do
    [ "${{COMP_WORDS[i]}}" = --shop ] && shop="${{COMP_WORDS[i+1]}}"
  done
  if [ "$COMP_CWORD" -eq 1 ]; then
    COMPREPLY=($(compgen -W '{names} --help --version' -- "$now"))
    return
  fi
  case "$command" in
{body}
  esac
  COMPREPLY=($(compgen -W "$words" -- "$now"))
  [ "${{#COMPREPLY[@]}}" -eq 0 ] && COMPREPLY=($(compgen -f -- "$now"))
}}
complete -F _loomleaf loomleaf
"""


def _zsh(commands: tuple[Known, ...]) -> str:
    names = "\n".join(f"    '{c.name}:{c.text.replace(':', ' ')}'" for c in commands)
    cases = []
    for c in commands:
        options = " \\\n        ".join(
            f"'{name}[{text}]" + (f":choice:({' '.join(choices)})'" if choices else "'")
            for name, (text, choices) in c.options.items()
        )
        rest = f"'1:word:({' '.join(c.words)})'" if c.words else ""
        more = "'*:job:_loomleaf_jobs'" if c.jobs else "'*:file:_files'"
        lines = " \\\n        ".join(part for part in (options, rest, more) if part)
        cases.append(f"    {c.name})\n      _arguments \\\n        {lines} ;;")
    body = "\n".join(cases)
    return f"""#compdef loomleaf
# Completion for zsh. Use it with:  source <(loomleaf completion zsh)
_loomleaf_jobs() {{
  local -a jobs
  jobs=(${{(f)"$({_JOBS})"}})
  compadd -a jobs
}}
_loomleaf() {{
  local -a commands
  local shop=""
  commands=(
{names}
  )
  if (( CURRENT == 2 )); then
    _describe command commands
    return
  fi
  local command="$words[2]"
  shift words
  (( CURRENT-- ))
  case "$command" in
{body}
  esac
}}
compdef _loomleaf loomleaf
"""


def _fish(commands: tuple[Known, ...]) -> str:
    lines = ["# Completion for fish. Use it with:  loomleaf completion fish | source", "complete -c loomleaf -f"]
    for c in commands:
        lines.append(f"complete -c loomleaf -n __fish_use_subcommand -a {c.name} -d '{c.text}'")
        seen = f"-n '__fish_seen_subcommand_from {c.name}'"
        for name, (text, choices) in c.options.items():
            more = f" -x -a '{' '.join(choices)}'" if choices else ""
            lines.append(f"complete -c loomleaf {seen} -l {name.removeprefix('--')} -d '{text}'{more}")
        if c.words:
            lines.append(f"complete -c loomleaf {seen} -a '{' '.join(c.words)}'")
        if c.jobs:
            lines.append(f"complete -c loomleaf {seen} -a '(ls content/jobs 2>/dev/null | string replace -f .yaml \"\")'")
        if not c.words and not c.jobs:
            lines.append(f"complete -c loomleaf {seen} -F")
    return "\n".join(lines) + "\n"
