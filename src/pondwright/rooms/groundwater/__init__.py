"""Water under the lining: how hard it pushes, where, at which stage, and what leads it away by gravity.

Fourth room of the job.  It looks back at the ground, its soils, the shape and the dig, and tells heads in the
ground, uplift of the liner, drains that fall, and how the dig is kept dry.

Main sources: the steady flow of Dupuit; USACE EM 1110-2-2100 (uplift); NRCS National Engineering Handbook
parts 633 (filters) and 650 (drains); 29 CFR 1926 subpart P (trenches).
"""
