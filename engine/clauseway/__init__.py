"""Clauseway."""
