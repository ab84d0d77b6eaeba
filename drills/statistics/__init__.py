"""The statistics of weak pairs and progress: counts in, plain numbers out. Pure.

No database and no clock: functions take counts that a query can aggregate, and dates that are
handed in. numpy and scipy are imported where they are needed, never with the package.

- `shares`: intervals for shares; `difference`: difference tests of sensory analysis;
- `dprime`: d-prime from forced choices, triangles, duo-trios, yes and no; `rindex`: the R-index;
- `tallies`: answers counted by pair and sureness; `calibration`: sureness against outcome;
- `agreement`: kappa; `structure`: bias and spread of structure calls; `change`: first call against
  final call; `readings`: how one taster reads; `standing`: which pairs are resolved in the glass;
- `corners`: theory against glass.
"""
