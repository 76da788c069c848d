"""Benchmarks: fixed families of layouts, and the alternatives that an engineer would pick."""
