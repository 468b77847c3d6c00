"""What a question is asked with where nobody says otherwise: in a command as in a notebook."""

from __future__ import annotations

#: Length of a step of the simulation. [h]
STEP_h = 0.25
#: Simulated passages; 1 is average weather alone.
MEMBERS = 200
#: Of the random numbers.
SEED = 1
#: Share of the simulated passages that may fail before the passage counts as failed; common
#: practice, no source. [-]
RISK_FRAC = 0.05
#: Simulated passages of a search of sizes, of a search of a rule, and of the rest of a passage.
SIZE_MEMBERS, PLAN_MEMBERS, UNDERWAY_MEMBERS = 200, 300, 500
