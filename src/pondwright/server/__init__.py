"""The web server of one builder's own machine: jobs, documents, papers, and the live channel.

Routes load, call :mod:`pondwright.api`, and return; nothing is computed here.  It listens on the
loopback address only, because it asks nobody who they are.
"""
