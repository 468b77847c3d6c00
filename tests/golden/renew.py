"""The main figures of the demo passage, and a way to renew the kept ones on purpose."""

from __future__ import annotations

import json
from pathlib import Path

import powersim
from powersim.report.quoted import looked_up
from powersim.simulation.verdict import CHANCES

KEPT = Path(__file__).parent / "demo.json"
DEMO = Path(__file__).parents[2] / "loads" / "iceland-to-cabo-verde"
SECTIONS = ("average.charge", "average.engine", "average.fuel", "without_charging", "totals")
#: Members' bands of which the median and the mean are kept.
BANDS = ("lowest_soc", "charging_h", "charging_runs", "charging_L", "motoring_L", "fuel_left_L")


def main_figures():
    """Figures of the demo by dotted name: numbers, and None for what never comes."""
    summary = powersim.simulate(powersim.load(DEMO), members=200).summary
    figures = {
        f"{section}.{name}": value
        for section in SECTIONS
        for name, value in looked_up(summary, section).items()
        if not isinstance(value, dict)
    }
    verdict = summary["verdict"]
    figures |= {f"verdict.{name}.frac": verdict[name]["frac"] for name in CHANCES}
    figures |= {
        f"ensemble.{name}.{quantile}": summary["ensemble"][name][quantile]
        for name in BANDS
        for quantile in ("p50", "mean")
    }
    figures |= {f"passage.{name}": summary["passage"][name] for name in ("days", "distance_nm")}
    figures |= {f"loads.{load['load']}.Ah_per_day": load["Ah_per_day"] for load in summary["loads"]}
    return {"holds": summary["holds"]} | figures


def kept():
    """The file: the version that made it, and its figures."""
    return json.loads(KEPT.read_text(encoding="utf-8"))


def differences(old, new):
    """One line for each figure that is not the same to six digits."""

    def shown(figures, name):
        value = figures.get(name, "-")
        return f"{value:.6g}" if isinstance(value, float) else str(value)

    lines = []
    for name in sorted(old.keys() | new.keys()):
        before, after = shown(old, name), shown(new, name)
        if before != after:
            lines.append(f"{name}: {before} -> {after}")
    return lines


def renew():
    """Write the figures of today; returns what has changed."""
    old = kept()["figures"] if KEPT.exists() else {}
    new = main_figures()
    record = {"version": powersim.__version__, "figures": new}
    KEPT.write_text(json.dumps(record, indent=1, allow_nan=False) + "\n", encoding="utf-8")
    return differences(old, new)


if __name__ == "__main__":
    import sys

    sys.stdout.write("\n".join(renew() or ["nothing has changed"]) + "\n")
