"""One step of the simulation in plain scalar functions, and what compiles them."""
