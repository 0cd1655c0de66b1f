"""A second model of what overtable computes, worked out from its contract alone.

Nothing in here comes from `geometry`, `scenes` or `viz`: rooms are read, seats stood up, distances, angles, rules,
lines and heights figured by code of its own, on numpy, scipy and shapely, and the product is only asked
through its command line (`product`). What differs is a fault of one of the two, and found out by reading
the contract again.

    reading    a spec file as it is written → Room, in metres
    seating    mouths: round tables, in rows, singly, walking
    band       how far a mouth is from the surface of a band's solid
    solids     upright prisms: how near, and whether a straight line goes through
    rulesheet  every clearance rule in its own words: required and actual, for many positions at once
    judging    a whole room judged: who is covered, by whom, what is too close, the verdict
    hanging    heights scanned
    searching  places looked for at random and polished
    rooms      random rooms, seeded, written as spec files
    comparing  a review, heights or a placement of the product against all that
    product    the product's command line, the one door to it

`python -m tests.outside.oracle --rooms 500` asks as many rooms as one likes.
"""
