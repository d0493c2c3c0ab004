"""Stone: what hides each step of the bank, covers its zones and frames its falls, in pieces and tons.

Sixth room of the job.  It looks back at the shape and its banks, the build-up and the liner, and tells stone
by class, what of it is on hand and what is to be bought, and how much water it takes away.

Main sources: FHWA FP-14 table 705-1 and EM 1110-2-1601 for masses and thicknesses; common practice where none
is named.
"""
