"""What an installer takes away from a design and brings back: sequence, schedules, tests, measured values."""
