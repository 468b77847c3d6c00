"""What a user's type checker makes of the names of the package; mypy reads it, nothing runs it."""

from __future__ import annotations

from datetime import datetime
from typing import Any, assert_type

import numpy as np
import numpy.typing as npt
import pandas as pd
from matplotlib.axes import Axes

import powersim
from powersim.api.comparing import Comparison
from powersim.api.from_log import Underway
from powersim.planning.budget import Budget
from powersim.planning.endurance_table import EnduranceTable
from powersim.planning.plan import Plan
from powersim.planning.size_front import Sized
from powersim.planning.sounding import Sounded
from powersim.records import Boat, Load
from powersim.simulation.prepared_passage import PreparedPassage


def used() -> None:
    """All that a notebook asks for; never called."""
    passage = powersim.load("my-passage", depart=datetime(2026, 9, 5))
    assert_type(passage, powersim.Passage)
    assert_type(passage.boat, Boat)
    assert_type(passage.loads, tuple[Load, ...])
    assert_type(passage.with_("battery.capacity", "300 Ah"), powersim.Passage)
    assert_type(passage.with_({"battery.peukert": 1.2}), powersim.Passage)

    result = powersim.simulate(passage, members=200)
    assert_type(result, powersim.Result)
    assert_type(result.hourly, pd.DataFrame)
    assert_type(result.flow.soc, npt.NDArray[np.floating[Any]])
    assert_type(result.plot_soc(), Axes)
    if result.ensemble is not None:
        assert_type(result.ensemble.lowest_soc, npt.NDArray[np.floating[Any]])
        assert_type(result.ensemble.to_dataframe(), pd.DataFrame)

    ready = powersim.prepare(passage)
    assert_type(ready, PreparedPassage[powersim.Result])
    assert_type(ready.with_loads(passage.loads).simulate(), powersim.Result)

    compared = powersim.compare({"mine": passage}, departs=["2026-09-01:2026-10-15:7d"])
    assert_type(compared, Comparison)
    assert_type(compared.to_dataframe(), pd.DataFrame)
    assert_type(compared.plot(), Axes)

    for asked in (passage, ready, result):
        assert_type(powersim.budget(asked, dates=["2026-09-12"]), Budget)
        assert_type(powersim.endurance(asked, from_h="worst"), EnduranceTable)
        assert_type(powersim.plan(asked), Plan)
        assert_type(powersim.size(asked, batteries_Ah=(220.0,)), Sized)
        assert_type(powersim.sounding(asked, "18 cm"), Sounded)
        assert_type(powersim.underway(asked), Underway)
    assert_type(powersim.endurance(passage).lines[0].days_to_flat, float | np.ndarray)
