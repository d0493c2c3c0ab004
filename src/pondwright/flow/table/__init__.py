"""The rows of the table of stages, a file for each room; :mod:`pondwright.flow.stages` puts them in order."""
