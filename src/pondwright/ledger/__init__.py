"""The ledger: every public method beside published or hand-derived numbers that it must give.

The cases are data, one CSV file a room in ``cases/``; :mod:`~pondwright.ledger.cases` reads them,
:mod:`~pondwright.ledger.problems` builds what a number alone cannot tell, and :mod:`~pondwright.ledger.run`
tries them.  A number that pondwright itself gave is no truth and stands in no case.
"""
