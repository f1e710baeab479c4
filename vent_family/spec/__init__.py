"""Specification layer: a row resolved into every dimension, proven to fit together; no kernel."""
