"""Writes the measured table of docs/model/paper.md: `python docs/paper_figures.py`, a minute."""

from __future__ import annotations

from pathlib import Path

from measured import put

from powersim.api import paper
from powersim.inputs.folder import load_folder

ROOT = Path(__file__).resolve().parents[1]
HEAD = (
    "| passage | by the table: fail, % | diesel, L | engine, h | runs a week | by her own rule: "
    "fail, % | diesel, L | engine, h | runs a week |\n|---|---|---|---|---|---|---|---|---|"
)


def main():
    """Make the table of every shipped passage, and put what it comes to into the page."""
    rows = []
    for folder in sorted((ROOT / "loads").glob("*/boat.toml")):
        way = paper(load_folder(folder.parent))
        told = " | ".join(
            f"{100.0 * verdict.fails.frac:.1f} | {one.charging_L.mean():.1f} | "
            f"{one.charging_h.mean():.1f} | {7.0 * one.charging_runs.mean() / way.passage_days:.1f}"
            for one, verdict in ((way.judged, way.verdict), (way.own, way.own_verdict))
        )
        rows.append(f"| {way.passage.name} | {told} |")
        print(rows[-1], flush=True)
    put(ROOT / "docs" / "model" / "paper.md", "paper", [HEAD, *rows])


if __name__ == "__main__":
    main()
