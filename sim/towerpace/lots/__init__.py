"""Lots: the random numbers of a trial, each at its own place in its own stream, drawn by compiled code.

- `streams` says what a law is handed to draw from, `philox` counts the numbers of a stream,
- `rows` draws many lots at once, each by its own spread, in one call.

A stream made here has the very numbers of numpy's generator of the same key. Where there is no compiler,
numpy's generators draw them.
"""
