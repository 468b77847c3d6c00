"""A second description of the model, written from docs/ alone: numpy, pvlib, nothing of ours.

It recomputes the first days of the demo passage from her files. A section says which page it
follows. What these days do not have is left out: darkness, shedding, stops, calms that are motored,
wind, water and shore, PWM, lithium, a full charge by the engine, many weathers.
"""
