"""The page of the commands, from the parser itself."""

import argparse
from collections.abc import Iterator

from tables import table

from flyoff import cli

INTRO = """\
`flyoff COMMAND --help` says the same in a terminal. Every command ends with status 0 when it is done, 1 when
it is done and found something, 2 when it could not be done; then every problem is named with its file, line
and field, and nothing was written. Stopped with Ctrl-C it ends with status 130 and nothing half written:
`out/` is as it was until the new one takes its place as a whole. Progress shows on a terminal only, never in
a pipe.

Results are not for flight planning or operational use. The approved flight manual, local rules and licensed
pilots and engineers govern.
"""


def page() -> str:
    """Return the page."""
    lines = ["# Commands", "", INTRO]
    for name, words, parser in commands():
        usage = " ".join(parser.format_usage().removeprefix("usage: ").split())
        lines += [
            f"## flyoff {name}",
            "",
            f"{words[:1].upper()}{words[1:]}.",
            "",
            "```text",
            usage,
            "```",
            "",
        ]
        lines += table(("argument", "what it is"), _arguments(parser))
    return "\n".join(lines)


def commands() -> Iterator[tuple[str, str, argparse.ArgumentParser]]:
    """Yield each command: name, words, parser."""
    for action in cli._parser()._actions:
        if isinstance(action, argparse._SubParsersAction):
            words = {choice.dest: choice.help or "" for choice in action._choices_actions}
            for name, parser in action.choices.items():
                yield name, words[name], parser


def _arguments(parser: argparse.ArgumentParser) -> Iterator[tuple[str, str]]:
    for action in parser._actions:
        named = ", ".join(action.option_strings)
        shown = " ".join(filter(None, (named, _value(action))))
        default = (
            "" if action.default in (None, False, argparse.SUPPRESS) else f" (without it: `{action.default}`)"
        )
        yield f"`{shown}`", f"{action.help or _POSITIONAL.get(action.dest, '')}{default}"


def _value(action: argparse.Action) -> str:
    if action.nargs == 0:
        return ""
    return str(action.metavar or action.dest.upper())


_POSITIONAL = {"folder": "the study's folder", "flight": "a flight file, or a folder with one"}
