"""Scripts that make the example jobs; everything in those jobs is invented.

Each is run from the root of the repository, such as ``python -m examples.make.larkmeadow``, and writes
an ordinary job file.
"""
