"""At sea: the log against the plan, what is really drawn and burnt, a new forecast from here."""
