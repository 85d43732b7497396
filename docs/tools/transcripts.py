"""The commands that pages show, run: their output is compared with the page, or written into it.

A block fenced as ``console`` holds lines that begin with ``$ `` and what each printed. All blocks of a page
run in order in one empty folder. A block fenced as ``text`` under the comment ``<!-- output: COMMAND -->``,
on any of the pages, repeats what that command printed.

    python docs/tools/transcripts.py [--write] PAGE...
"""

import difflib
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

_BLOCK = re.compile(r"^```console\n(.*?)^```$", re.M | re.S)
_COPY = re.compile(r"^(<!-- output: (.+?) -->\n```text\n)(.*?)^```$", re.M | re.S)


class Shell:
    """A folder in which commands run one after another."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.printed: dict[str, str] = {}
        path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
        self.environment = {**os.environ, "PATH": path, "COLUMNS": "100", "LC_ALL": "C.UTF-8"}

    def run(self, command: str) -> str:
        """Return what a command prints, errors among it."""
        if command.startswith("cd "):
            self.folder = self.folder / command.removeprefix("cd ")
            return ""
        done = subprocess.run(
            ["bash", "-c", command], cwd=self.folder, env=self.environment, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False,
        )  # fmt: skip
        if "Traceback (most recent call last)" in done.stdout:
            raise SystemExit(f"{command} broke; the pages stay as they were:\n{done.stdout}")
        lines = [line.rstrip() for line in done.stdout.splitlines()]
        self.printed[command] = "".join(f"{line}\n" for line in lines)
        return self.printed[command]


def rerun(text: str, shell: Shell) -> str:
    """Return a page with what its commands print now."""

    def block(match: re.Match[str]) -> str:
        commands = [line for line in match[1].splitlines() if line.startswith("$ ")]
        shown = "".join(f"{line}\n{shell.run(line.removeprefix('$ '))}" for line in commands)
        return f"```console\n{shown}```"

    return _BLOCK.sub(block, text)


def copied(text: str, printed: dict[str, str]) -> str:
    """Return a page with the outputs that it repeats."""
    return _COPY.sub(lambda match: f"{match[1]}{printed.get(match[2], match[3])}```", text)


def main() -> int:
    """Compare pages with what their commands print, or with ``--write`` bring them up to date."""
    write = "--write" in sys.argv
    pages = [Path(argument) for argument in sys.argv[1:] if argument != "--write"]
    texts, printed = {}, {}
    for page in pages:
        with tempfile.TemporaryDirectory() as folder:
            shell = Shell(Path(folder))
            texts[page] = rerun(page.read_text("utf-8"), shell)
            printed |= shell.printed
    stale = 0
    for page, text in texts.items():
        was, now = page.read_text("utf-8"), copied(text, printed)
        if was != now:
            stale += 1
            if write:
                page.write_text(now, "utf-8")
            names = (f"{page.name} as written", f"{page.name} as run")
            sys.stdout.writelines(
                difflib.unified_diff(was.splitlines(True), now.splitlines(True), *names, n=1)
            )
    return 1 if stale and not write else 0


if __name__ == "__main__":
    raise SystemExit(main())
