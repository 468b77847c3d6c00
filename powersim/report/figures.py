"""The pictures of a simulated passage, under one roof."""

from __future__ import annotations

from powersim.report.figure_charge import charge_figure, plot_soc
from powersim.report.figure_energy import energy_figure, plot_energy
from powersim.report.figure_fan import fan_figure, plot_fan

__all__ = ["charge_figure", "energy_figure", "fan_figure", "plot_energy", "plot_fan", "plot_soc"]
