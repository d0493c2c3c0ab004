"""The rooms of the job, in the order of the work; a room may look back, never ahead.

Every room has the same furniture beside its topic modules: ``checks`` (limits as records with
sources, and the findings they give) and ``stage`` (the result class and the functions that read
the document).  Topic modules are pure functions of numbers and arrays.
"""
