"""One firing: its profile, its states, its setpoint, its gate and its control."""
