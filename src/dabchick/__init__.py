"""Dabchick: from a bare hull to a model submarine that floats right and hangs right."""
