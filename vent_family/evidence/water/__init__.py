"""Will water get in? Sight lines, probes, drop flight, film and drainage of one vent.

Entry points: :func:`vent_family.evidence.water.assess.assess` for a resolved vent, and
:mod:`vent_family.evidence.water.pictures` for the pictures that go with the answer. Everything is a
prediction from geometry and published correlations; only an accredited test decides.
"""
