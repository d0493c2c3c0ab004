"""The command line: each command calls one function of :mod:`pondwright.api` and prints what it gives.

Modules are loaded by the command that needs them, so that ``--help`` answers at once.
"""
