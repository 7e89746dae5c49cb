"""Readings in, one captured value out: a module for each kind of capture."""
