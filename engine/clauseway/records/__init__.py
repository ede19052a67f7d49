"""Data classes that are quickly made: what `dataclasses` gives, for a program that lives as long as one check."""
