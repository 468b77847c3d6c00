"""Writes the measured tables of docs/model/foresight.md: widths of bins, and the boats' own rules.

Takes some minutes: `python docs/foresight_figures.py`.
"""

from __future__ import annotations

import time
from pathlib import Path

from measured import put

from powersim.inputs.folder import load_folder
from powersim.planning.foresight import foresight, serving_all
from powersim.planning.foresight_search import BIN_SOC
from powersim.simulation.prepare import prepare
from powersim.simulation.result import simulate

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "model" / "foresight.md"
BINS = (0.008, 0.004, 0.002, 0.001, 0.0005, 0.00025)


def main():
    """Search every shipped passage with each width, and put the figures into the page."""
    folders = sorted((ROOT / "loads").glob("*/boat.toml"))
    passages = [load_folder(folder.parent) for folder in folders]
    columns, rules = [], []
    for passage in passages:
        passage, prepared = serving_all(passage, prepare(passage))
        own = simulate(passage).summary
        found = {}
        column = []
        for bin_soc in BINS:
            began_s = time.process_time()
            one = foresight(
                passage,
                prepared,
                end_soc=own["average"]["charge"]["soc_at_landfall"],
                bin_soc=bin_soc,
            )
            cpu_s = time.process_time() - began_s
            litres = f"{one.charging_L:.3f}" if one.feasible else "*none found*"
            column.append(f"{litres} | {cpu_s:.1f}")
            found[bin_soc] = one
            print(passage.name, bin_soc, column[-1], flush=True)
        columns.append(column)
        rules.append(_beside_rule(passage.name, own, found[BIN_SOC]))
        print(rules[-1], flush=True)
    put(PAGE, "bins", [*_head([passage.name for passage in passages]), *_by_bin(columns)])
    put(
        PAGE,
        "rules",
        [
            "| passage | rule, L | foresight, L | rule, h at rest | foresight, h "
            "| lowest charge by rule | by foresight |",
            "|---|---|---|---|---|---|---|",
            *rules,
        ],
    )


def _head(names):
    return [
        "| bin of charge | " + " | ".join(f"{name}, L | s" for name in names) + " |",
        "|---" * (1 + 2 * len(names)) + "|",
    ]


def _by_bin(columns):
    for bin_soc, *cells in zip(BINS, *columns, strict=True):
        name = f"**{bin_soc}**" if bin_soc == BIN_SOC else str(bin_soc)
        yield f"| {name} | " + " | ".join(cells) + " |"


def _beside_rule(name, own, found):
    fuel, charge, engine = (own["average"][part] for part in ("fuel", "charge", "engine"))
    return (
        f"| {name} | {fuel['charging_L'] + fuel['alternator_motoring_L']:.1f} "
        f"| {found.charging_L:.1f} | {engine['charging_h']:.1f} | {found.charging_h:.1f} "
        f"| {100.0 * charge['lowest_soc']:.0f} % | {100.0 * found.lowest_soc:.0f} % |"
    )


if __name__ == "__main__":
    main()
