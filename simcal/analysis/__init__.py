"""Analyses: one question each, on bench objects and the engine."""
