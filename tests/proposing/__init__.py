"""Tests of proposing."""
