"""The main job on pretend gauges over real pseudo serial ports: an invented head, by seed."""
