"""Many openings at once: rules over columns of facts, with NumPy; the one-opening checker says what a term means."""
