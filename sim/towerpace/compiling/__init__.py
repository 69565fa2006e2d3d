"""How functions are compiled, and how they are handed arrays: for the draws, the engine and the ledger alike.

Nothing here knows what is computed. Importing the package does not import numba; without it every function
stays what it is in Python.
"""
