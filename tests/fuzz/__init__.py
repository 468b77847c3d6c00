"""Passages drawn at random, sent through every command, and held against what must always be so."""
