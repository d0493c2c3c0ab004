"""Words that every room shares: kinds and units, sources, figures, findings, errors.

This floor imports nothing else of pondwright.
"""
