"""The catalogue: every characteristic of the trade, a module for each part."""
