"""Tests, at the same path as the code they test."""
