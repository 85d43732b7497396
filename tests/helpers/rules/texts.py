"""What no tracked text may name: places on one machine, registries, how the work was organised."""

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

TRACES = {
    "a path of one machine": re.compile(r"(?<![\w.~-])/(?:work|root|home/\w+|Users/\w+|tmp/\w+)/"),
    "a host of a package registry": re.compile(
        r"\b(?:pypi\.org|pythonhosted\.org|npmjs\.(?:org|com)|deb\.debian\.org|security\.debian\.org"
        r"|archive\.ubuntu\.com|crates\.io|anaconda\.org|proxy\.golang\.org)"
    ),
    "how the work was organised": re.compile(
        r"helper[-]brief|\b(?:in|of|per) the brief\b|\bissues (?:show|list)\b|(?i:co[-]authored-by[:])"
    ),
}
BINARY = {".png", ".pdf", ".ttf", ".woff2", ".npz", ".ico", ".zip", ".gz"}


def text_findings(path: str, text: str) -> list[str]:
    """Return the lines of a text that name what only its maker's machine knows."""
    found = []
    for number, line in enumerate(text.splitlines(), 1):
        for what, pattern in TRACES.items():
            if hit := pattern.search(line):
                found.append(f"{path}:{number}: '{hit[0]}' is {what}; leave it out")
        if path.endswith(".lock") and "http" in line:
            found.append(f"{path}:{number}: a lock file records hashes, never an address")
    return found


def tracked_files(root: Path) -> Iterator[Path]:
    """Yield the text files that are, or are about to be, in the repository."""
    command = ["git", "-c", "safe.directory=*", "-C", str(root), "ls-files", "-coz", "--exclude-standard"]
    listed = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    for name in sorted(filter(None, listed.split("\0"))):
        path = root / name
        if path.suffix not in BINARY and path.is_file():
            yield path
