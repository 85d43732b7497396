"""Print the validation report in columns: what, printed, computed, difference, source."""

import sys
from pathlib import Path


def main() -> None:
    """Print the report of a page."""
    sources: dict[str, int] = {}
    for line in Path(sys.argv[1]).read_text("utf-8").splitlines():
        cells = [cell.strip() for cell in line.replace("\\|", "¦").strip("|").split(" | ")]
        if line.startswith("## "):
            print(f"\n{line.removeprefix('## ')}")
            _row("what", "printed", "computed", "difference", "source")
        elif len(cells) == 6 and cells[0] != "what":
            what, source, printed, computed, difference, _ = (cell.replace("¦", "|") for cell in cells)
            number = sources.setdefault(source, len(sources) + 1)
            _row(what, printed, computed, difference, f"[{number}]")
        elif line and not line.startswith(("|", "#")):
            print(line)
    print("\nSources")
    for source, number in sources.items():
        print(f"{f'[{number}]':>6} {source}")


def _row(what: str, printed: str, computed: str, difference: str, source: str) -> None:
    print(f"  {what[:58]:58} {printed:>17} {computed:>16} {difference:>13} {source:>7}")


if __name__ == "__main__":
    main()
