"""Findings: the engine and one module for each family of rules."""
