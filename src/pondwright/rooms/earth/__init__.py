"""Earth: what is dug, what is placed, what is left over, and at which level do they balance?

The third room of the job.  The dug and placed surface is the *subgrade*, the finish less the
layers that cover it (:mod:`~pondwright.rooms.earth.subgrade`); dug and placed volumes are exact, by
layer of soil (:mod:`~pondwright.rooms.earth.cutfill`); soil swells when it is dug and shrinks when it
is compacted (:mod:`~pondwright.rooms.earth.states`); and one water level makes them equal
(:mod:`~pondwright.rooms.earth.balance`).

Main sources: USDA Agriculture Handbook 590; US Army FM 5-434; 29 CFR 1926 subpart P for work in
pits and trenches.
"""
