"""At sea: the log against the plan, what is really drawn and burnt, and a new forecast."""
