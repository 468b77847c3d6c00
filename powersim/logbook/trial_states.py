"""What was on at each reading of a trial, by the names on the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from powersim.records import Load, Passage, Supply, TrialReading

if TYPE_CHECKING:
    from powersim.records.arrays import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Switched:
    """One load or supply in one state, and when it was in it.

    Attributes
    ----------
    name : str
        As in the files; of what they do not have, as on the sheet.
    state : str
        "on" or "idle".
    column : ndarray, shape (readings,)
        1 at the readings with it in that state, 0 at the others.
    load : Load or None
        The load of that name.
    supply : Supply or None
        The supply of that name, or the one that the load hangs on.
    """

    name: str
    state: str
    column: Array
    load: Load | None = None
    supply: Supply | None = None

    @property
    def unit(self) -> str:
        """ "W" or "A", as the files have it."""
        if self.load is None:
            return "A" if self.supply is None else "W"
        draws = (self.load.draw_A, self.load.draw_W)
        standby = (self.load.standby_A, self.load.standby_W)
        current, power = standby if self.state == "idle" and any(standby) else draws
        return "A" if current and not power else "W"

    @property
    def filed(self) -> float | None:
        """What the files have it draw, each, in its unit; None where they do not have it."""
        if self.load is None:
            return None if self.supply is None else self.supply.idle_W
        what = "standby" if self.state == "idle" else "draw"
        return float(getattr(self.load, f"{what}_{self.unit}"))

    def per_A(self, volts: float) -> float:
        """What each of it draws, in its unit, for an ampere out of the bank."""
        if self.load is None:
            return 1.0 if self.supply is None else volts
        count = max(self.load.count, 1)
        if self.supply is None:
            return (volts if self.unit == "W" else 1.0) / count
        output_W = volts * self.supply.efficiency_frac / count
        return output_W if self.unit == "W" else output_W / self.supply.output_V


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class States:
    """What was on at each reading.

    Attributes
    ----------
    switched : tuple of Switched
        In the order of loads.csv, then supplies, then what is in no list.
    idle_W : ndarray, shape (readings,)
        What supplies take idle that are on with their loads and are not on the sheet. [W]
    unlisted, not_switched : tuple of str
        Names of the sheet that the files do not have, and loads that the sheet does not have.
    """

    switched: tuple[Switched, ...]
    idle_W: Array
    unlisted: tuple[str, ...]
    not_switched: tuple[str, ...]


def known_as(name: str) -> str:
    """A name as names are compared.

    Examples
    --------
    >>> known_as(" VHF  radio")
    'vhf radio'
    """
    return " ".join(name.split()).casefold()


def states_of(readings: Sequence[TrialReading], passage: Passage) -> States:
    """What was on at each reading.

    What is first met as it goes off was on until then, unless everything was off before.
    """
    readings = [_with_whole_name(one, passage) for one in readings]
    names = {known_as(name): name for one in reversed(readings) for name in one.loads}
    loads = {one.known_as: one for one in reversed(passage.loads)}
    supplies = {known_as(one.name): one for one in passage.boat.supplies}
    table = _table(readings, names)
    in_list = list(dict.fromkeys(one.known_as for one in passage.loads))
    own = [name for name in supplies if name not in loads]
    unlisted = [name for name in names if name not in loads and name not in supplies]

    def fed_by(supply: str) -> Array:
        """1 where any load is on that hangs on a supply."""
        hang = [loads[name].supply for name in names if name in loads]
        on = [table[name] != "off" for name in names if name in loads]
        fed = [one for one, of in zip(on, hang, strict=True) if known_as(of) == supply]
        return np.any(fed, axis=0).astype(float) if fed else np.zeros(len(readings))

    switched: list[Switched] = []
    for name in (*in_list, *unlisted):
        if name not in names:
            continue
        load = loads.get(name)
        shown = names[name] if load is None else load.name
        supply = None if load is None else supplies.get(known_as(load.supply))
        for state in ("idle", "on"):
            column = (table[name] == state).astype(float)
            if column.any():
                switched.append(
                    Switched(name=shown, state=state, column=column, load=load, supply=supply)
                )
    idle_W = np.zeros(len(readings))
    for name, supply in supplies.items():
        if name in names and name in own:
            column = np.maximum(table[name] != "off", fed_by(name))
            switched.append(Switched(name=supply.name, state="idle", column=column, supply=supply))
        elif not supply.left_on:
            idle_W += supply.idle_W * fed_by(name)
    return States(
        switched=tuple(switched),
        idle_W=idle_W,
        unlisted=tuple(names[name] for name in unlisted),
        not_switched=tuple(loads[name].name for name in in_list if name not in names),
    )


def _with_whole_name(reading: TrialReading, passage: Passage) -> TrialReading:
    """With one load where its own name has the semicolon that else stands between two."""
    whole = "; ".join(map(known_as, reading.loads))
    for load in passage.loads if len(reading.loads) > 1 else ():
        if "; ".join(known_as(part) for part in load.name.split(";")) == whole:
            return replace(reading, loads=(load.name,))
    return reading


def _table(readings: Sequence[TrialReading], names: Iterable[str]) -> dict[str, np.ndarray]:
    """The state of each name at each reading."""
    first: dict[str, str] = {}
    for one in readings:
        if one.everything:
            break
        for name in one.loads:
            first.setdefault(known_as(name), one.column)
    now = {name: "on" if first.get(name) == "off" else "off" for name in names}
    table: dict[str, list[str]] = {name: [] for name in now}
    for one in readings:
        now |= dict.fromkeys(now if one.everything else map(known_as, one.loads), one.column)
        for name, state in now.items():
            table[name].append(state)
    return {name: np.array(states) for name, states in table.items()}
