"""What may be asked of every charger other than panels and alternator, and what they share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from powersim.records.care import Care
from powersim.records.chargers.power_curve import Stream
from powersim.records.declared import SENSOR, given

PRACTICE = "common practice, no source"
#: The metadata of fields that several kinds have.
NAME = given("what you call it", '"mizzen"', without="its kind, with a number if there are several")
DIAMETER = given(
    "the width of its circle of blades, or of the propeller", "1.15 m", above=(0.0, 4.0)
)
WIRING = given("loss in its cable", "3 %", within=(0.0, 0.95), reason=f"cable; {PRACTICE}")
REGULATED = given(
    "true if it has a regulator that holds the bank's voltages, else false",
    reason="holds the bank's voltages",
)
NO_SENSOR = SENSOR | {"reason": f"no sensor on the bank; {PRACTICE}"}


class Charger:
    """The traits of a source; a record of its own has the fields of each.

    What it offers along a track, and how that differs between members, is physics:
    `physics.chargers` has it by record.

    Attributes
    ----------
    kinds : tuple of str
        Words of boat.toml that mean it.
    source : str
        Its ledger, one of kernel.chargers.SOURCES.
    called : str
        What stands in a legend.
    in_amperes : bool
        Whether it offers amperes, and not watts.
    leaves_surplus : bool
        Whether what it offers and nothing takes is told as surplus.
    lean_days : str
        What a day on which it gives little is called; empty where there is none.
    where : str
        Where it gives, after its amperes or watts; empty for anywhere.
    never : dict of str to dict of str to str
        By kind: fields that cannot be true of it, and why.
    own_reasons : dict of str to dict of str to str
        By kind: fields whose default has a reason of its own there.
    stream : Stream or None
        What turns it, if it has a power curve.
    usual_diameter_m : dict of str to float
        By kind: the rotor that its invented curve is drawn for. [m]
    name : str
        What the sailor calls it.
    absorption_V, float_V : float or None
        Setpoints at 25 degC; None takes the bank's. [V]
    temp_comp_V_per_C : float
        Change of the setpoints with the bank's warmth; 0 is no sensor. [V/degC]
    """

    __slots__ = ()
    kinds: ClassVar[tuple[str, ...]]
    source: ClassVar[str]
    called: ClassVar[str]
    in_amperes: ClassVar[bool] = False
    leaves_surplus: ClassVar[bool] = True
    lean_days: ClassVar[str] = ""
    where: ClassVar[str] = ""
    never: ClassVar[dict[str, dict[str, str]]] = {}
    own_reasons: ClassVar[dict[str, dict[str, str]]] = {}
    stream: ClassVar[Stream | None] = None
    usual_diameter_m: ClassVar[dict[str, float]] = {}

    name: str
    absorption_V: float | None
    float_V: float | None
    temp_comp_V_per_C: float

    @property
    def kind(self) -> str:
        """Which of `kinds` it is; a field where there are several."""
        return self.kinds[0]

    @property
    def regulated(self) -> bool:
        """Whether it holds its setpoints; a field where it may not, and then gives on."""
        return True

    @property
    def cares(self) -> tuple[Care, ...]:
        """What to mind of it."""
        return ()

    @property
    def most(self) -> float:
        """The most that it gives. [A] or [W]"""
        raise NotImplementedError

    def idle_on(
        self, speeds_kn: Iterable[float], states: tuple[str, ...]
    ) -> tuple[str, str] | None:
        """Why it gives nothing on a route, by the files alone, and what to do; None if it may.

        Parameters
        ----------
        speeds_kn : iterable of float
            Of the legs. [kn]
        states : tuple of str
            Of the boat, that the route brings.
        """
        return None


#: What is minded of anything that wind or water turns.
RUNAWAY = Care(
    full="Stop a wind or water generator before you take it off the bank or switch the bank off: "
    "while it turns with nothing to charge, its voltage and its speed run away. Without a "
    "regulator it must have a dump load.",
)
