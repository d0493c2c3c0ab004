"""The lining: what truly covers the ground, in how many pieces, and how it ends at the edge.

Fifth room of the job.  It looks back at the shape, the dig and the water under it, and tells the true area, a
panel plan, a proof that the ordered piece covers, the piece list, weight and pull, cushion, anchor and edge.

Main sources: USDA NRCS conservation practice standard 521; GRI test method GM13 and GM19; Koerner, Designing
with geosynthetics (cushion and anchor); common practice where none is named.
"""
