"""A second description of the model that needs docs/ alone: numpy, pvlib, nothing of ours.

It recomputes the demo passage in the mean sky from her files; a section says which page it follows.
What she never meets is left out: darkness, shedding, stops at sea, wells that give no more,
wind, water and shore, PWM, lithium, a full charge by the engine, many members.
"""
