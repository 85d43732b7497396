"""Pack a TopoJSON file of the world's land into the outlines that maps are drawn from.

``python docs/tools/land.py land-50m.json`` writes ``src/flyoff/charts/land/land.npz``:
the outlines in steps of 0.02 degrees, each point less the one before it.
"""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

STEP_DEG = 0.02
OUT = Path(__file__).resolve().parents[2] / "src/flyoff/charts/land/land.npz"


def outlines(topology: dict[str, Any]) -> Iterator[tuple[np.ndarray, bool]]:
    """Yield each outline as longitudes and latitudes, and whether it is a hole in the one before."""
    scale, shift = (np.array(topology["transform"][key]) for key in ("scale", "translate"))
    arcs = [np.cumsum(np.array(arc), axis=0) * scale + shift for arc in topology["arcs"]]

    def ring(indices: list[int]) -> np.ndarray:
        parts = [arcs[i] if i >= 0 else arcs[~i][::-1] for i in indices]
        return np.vstack([parts[0], *(part[1:] for part in parts[1:])])

    def polygons(shape: dict[str, Any]) -> Iterator[list[list[int]]]:
        if shape["type"] == "GeometryCollection":
            for inner in shape["geometries"]:
                yield from polygons(inner)
        elif shape["type"] == "Polygon":
            yield shape["arcs"]
        elif shape["type"] == "MultiPolygon":
            yield from shape["arcs"]

    for polygon in polygons(topology["objects"]["land"]):
        for number, indices in enumerate(polygon):
            yield ring(indices), number > 0


def main() -> None:
    topology = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
    steps, sizes, holes = [], [], []
    for points, hole in outlines(topology):
        grid = np.round(points / STEP_DEG).astype(np.int32)
        grid = grid[np.r_[True, np.any(np.diff(grid, axis=0) != 0, axis=1)]]
        if len(grid) >= 4:
            steps.append(np.diff(grid, axis=0, prepend=[[0, 0]]))
            sizes.append(len(grid))
            holes.append(hole)
    every = np.vstack(steps).astype(np.int16)
    OUT.parent.mkdir(exist_ok=True)
    np.savez_compressed(
        OUT, longitude=every[:, 0], latitude=every[:, 1], size=np.array(sizes, np.int32), hole=np.array(holes)
    )
    print(f"{len(sizes)} outlines, {len(every)} points, {OUT.stat().st_size} bytes")


if __name__ == "__main__":
    main()
