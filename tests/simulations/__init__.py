"""Simulated fleets whose truth is known: they show how often what the program says is so."""
