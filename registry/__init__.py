"""Thermometer Registry: every thermometer as an asset, with its checks in an append-only journal."""
