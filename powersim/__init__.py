"""Electrical endurance of a small boat on a long ocean passage."""
