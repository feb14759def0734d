"""Commissioning and fault diagnosis of auxiliary-battery installations; imports nothing, so that starting is fast."""

__version__ = "0.1.0"
