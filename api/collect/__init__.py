"""The collector: an ordinary receiver that puts the events of many benches into one PostgreSQL."""
