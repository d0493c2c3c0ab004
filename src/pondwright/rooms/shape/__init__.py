"""Shape: where is the shore, how deep does it go, and what water does it hold?

The second room of the job.  Pegs bend a shoreline (:mod:`~pondwright.rooms.shape.shoreline`); a
bank type gives depth by distance from the shore (:mod:`~pondwright.rooms.shape.profile`); a berm
and slopes join it with the existing ground (:mod:`~pondwright.rooms.shape.grading`); the finished
surface holds water up to its own lip (:mod:`~pondwright.rooms.shape.storage`); and a handful
of form numbers tell shapes apart (:mod:`~pondwright.rooms.shape.figures`).

Main sources: USDA Agriculture Handbook 590; SCS and NRCS Conservation Practice Standard 378;
Hutchinson 1957 and Wetzel, Limnology, for the form numbers.
"""
