"""Writes how promises hold under measured light: tables of docs/validation.md and their figure.

    python docs/promise_figures.py            all of it, from a clone with the tests beside it
    python docs/promise_figures.py Mace       prints those of the sites whose names begin so
    python docs/promise_figures.py "" fitted  prints all with the constants as they are shipped

Takes some ten minutes. What is counted, and how, is in tests/reference/promises.py. Every site has
the constants of the month's light that docs/fit_light.py finds without its region.
"""

from __future__ import annotations

import sys
from contextlib import nullcontext
from pathlib import Path

from fit_light import fitted_elsewhere
from measured import put

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "reference")]

from light_sites import constants, long_sites, measured_months  # noqa: E402 (beside the tests)
from promises import (  # noqa: E402
    LARGE_BANK_D,
    PROMISED,
    SEASONS,
    SMALL_BANK_D,
    by_season_row,
    by_site_row,
    curve,
    held,
    of_several,
    share_and_interval,
)

from powersim.report.axes import new_axes  # noqa: E402
from powersim.report.inline_svg import inline_svg  # noqa: E402
from powersim.report.palette import FAILS, GRID, INK, SOFT, style_sheet  # noqa: E402

PAGE = ROOT / "docs" / "validation.md"
FIGURE = ROOT / "docs" / "figures" / "reliability.svg"
BANKS_D = {"small bank": SMALL_BANK_D, "large bank": LARGE_BANK_D}
SIDES = {"small bank": -0.25, "large bank": 0.25}  # of the points, so that both are seen
MOST_PERCENT = 40.0


def elsewhere():
    """Weight and error of the other regions, to the digits of docs/model/monthly_light.md."""
    return {
        name: {"weight": round(float(weight), 2), "error_kt": round(float(error_kt), 3)}
        for name, (weight, error_kt) in fitted_elsewhere(measured_months()).items()
    }


def counted(sites, fitted):
    """Every month of every site and bank; prints each as it comes."""
    found = []
    for site in sites:
        with constants(**fitted[site.name]) if fitted else nullcontext():
            for bank_d in BANKS_D.values():
                for month in range(1, 13):
                    one = held(site, month=month, bank_d=bank_d)
                    shares = " ".join(f"{100.0 * of:5.1f}" for of in one.fails.mean(axis=1))
                    print(
                        f"{site.name:14s} {bank_d:.0f} d, month {month:2d}: {shares} %", flush=True
                    )
                    found.append(one)
    return found


def groups(found):
    """What stands in a row or a panel of its own: sites, and several of them together."""
    names = list(dict.fromkeys(one.site for one in found))
    north = [one for one in found if one.lat_deg > 50.0]
    return {
        **{name: [one for one in found if one.site == name] for name in names},
        **({"all at 53 to 54 N": north, "all": found} if len(names) > 1 else {}),
    }


def draw(found):
    """The reliability diagram: promised along, found upwards, a panel for each group."""
    figure = new_axes().figure
    figure.clear()
    parts = groups(found)
    figure.set_size_inches(10.0, 6.4)
    axes = figure.subplots(2, 4, sharex=True, sharey=True).ravel()
    for ax, (name, several) in zip(axes, parts.items(), strict=False):
        _panel(ax, name, several)
    words = axes[len(parts)]
    _legend(words)
    figure.supxlabel("share of passages that fail, as promised [%]")
    figure.supylabel("share that fails under measured light [%]")
    return axes[0]


def _panel(ax, name, several):
    ends = (0.0, MOST_PERCENT)
    ax.plot(ends, ends, color=SOFT.light, linewidth=1.0)
    for bank, bank_d in BANKS_D.items():
        of_bank = [one for one in several if one.bank_d == bank_d]
        promised, found = curve(of_bank, up_to=0.01 * MOST_PERCENT)
        ax.plot(100.0 * promised, 100.0 * found, **_LINES[bank])
        for place, share in enumerate(PROMISED):
            mean, least, most, _ = share_and_interval(*of_several(of_bank, place))
            at = 100.0 * share + SIDES[bank]
            ax.plot([at, at], [100.0 * least, 100.0 * most], color=FAILS.mark, linewidth=1.0)
            ax.plot([at], [100.0 * mean], **_POINTS[bank])
    ax.set_title(name, loc="left", fontsize=10.0)
    ax.set_xlim(*ends)
    ax.set_ylim(0.0, 50.0)
    ax.set_aspect("equal")
    ax.grid(color=GRID.light, linewidth=0.5)


_LINES = {
    "small bank": {"color": FAILS.mark, "linewidth": 1.2},
    "large bank": {"color": FAILS.mark, "linewidth": 1.2, "dashes": FAILS.dashes},
}
_POINTS = {
    "small bank": {"marker": "o", "color": FAILS.mark, "markersize": 5.0},
    "large bank": {"marker": "s", "color": FAILS.mark, "markersize": 5.0, "fillstyle": "none"},
}


def _legend(ax):
    for bank, bank_d in BANKS_D.items():
        label = f"{bank}: {bank_d:.0f} days of light"
        ax.plot([], [], label=label, **{**_LINES[bank], **_POINTS[bank]})
    ax.plot([], [], color=SOFT.light, linewidth=1.0, label="the promise kept")
    ax.legend(loc="center", frameon=False)
    ax.set_axis_off()


def svg_of(ax):
    """A file that stands alone: its own colours, by day and in the dark."""
    drawn = str(
        inline_svg(
            ax,
            name="reliability",
            title="Promised and found",
            description="For each site the share of passages that fail under measured light, over "
            "the share promised, for two banks, with intervals.",
        )
    )
    head = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    body = drawn.replace("<svg", head, 1)
    style = f"<style>{style_sheet()}text {{ fill: var(--{INK.name}); }}\n</style>"
    return body.replace("<title", f"{style}<title", 1) + "\n"


def main(start: str = "", how: str = "left out"):
    """Count, print, and put tables and figure in their places."""
    sites = [site for site in long_sites() if site.name.startswith(start)]
    found = counted(sites, None if how == "fitted" else elsewhere())
    parts = groups(found)
    tables = {
        "promises": [_HEAD, *(by_site_row(name, several) for name, several in parts.items())],
        "promises by season": [
            _SEASON_HEAD,
            *(
                by_season_row(name, several, season)
                for name, several in parts.items()
                for season in SEASONS
            ),
        ],
    }
    print("\n".join(line for lines in tables.values() for line in lines))
    if not start and how != "fitted":
        for name, lines in tables.items():
            put(PAGE, name, lines)
        FIGURE.write_text(svg_of(draw(found)), encoding="utf-8", newline="\n")


_PROMISES = " | ".join(f"{bank}, {100.0 * share:.0f} %" for bank in BANKS_D for share in PROMISED)
_HEAD = f"| where | passages | {_PROMISES} |\n|---|---|{'---|' * 6}"
_SEASON_HEAD = f"| where | begun in | {_PROMISES} |\n|---|---|{'---|' * 6}"


if __name__ == "__main__":
    main(*sys.argv[1:])
