"""The trade: positions, plans, limits, clearances, decisions, and the record that holds them."""
