"""Faults of what looks for cheaper rows around an existing one."""

from __future__ import annotations

from typing import Final

from tests.faults.fault import Fault

IMPROVING: Final = (
    Fault(
        "improving-1",
        "records",
        "proposing/keeps.py",
        "sign",
        "as little air as is to be kept at least is taken for the most",
        '"m3/h", flow / self.least_m3_h - 1.0)',
        '"m3/h", self.least_m3_h / flow - 1.0)',
    ),
    Fault(
        "improving-2",
        "records",
        "proposing/keeps.py",
        "column",
        "with all drops a vent is still judged by the lower end of its interval",
        "value = now.low_ml if first else now.passed_ml",
        "value = now.low_ml",
    ),
    Fault(
        "improving-3",
        "records",
        "proposing/keeps.py",
        "dropped",
        "a vent that reaches farther fits where it does not",
        "short = len(others) + sum(grown)",
        "short = float(len(others))",
    ),
    Fault(
        "improving-4",
        "records",
        "proposing/around.py",
        "off by one",
        "a blank cell stands beside the wrong numbers",
        "place = bisect_left(usable, today)",
        "place = max(bisect_left(usable, today) - 1, 0)",
    ),
    Fault(
        "improving-5",
        "records",
        "proposing/around.py",
        "dropped",
        "knobs that are not turned write today's value into their cells all the same",
        "            if g != now\n        }",
        "        }",
    ),
    Fault(
        "improving-6",
        "records",
        "proposing/improve.py",
        "dropped",
        "a row found is written under the revision of today",
        'row=candidate.row.model_copy(update={"revision": self.revision})',
        "row=candidate.row.model_copy()",
    ),
    Fault(
        "improving-7",
        "records",
        "proposing/descent.py",
        "min max",
        "of the rows that hold the dearest is gone on from",
        "for good in sorted((c for c in met if c.done), key=price_of):",
        "for good in sorted((c for c in met if c.done), key=price_of, reverse=True):",
    ),
    Fault(
        "improving-8",
        "records",
        "proposing/improve.py",
        "factor",
        "a saving of nothing is worth a revision",
        "most = (1.0 - WORTH) * today.price",
        "most = (1.0 + WORTH) * today.price",
    ),
    Fault(
        "improving-9",
        "records",
        "proposing/ladder.py",
        "dropped",
        "what an enquiry adds to the requirement is never asked for",
        "keeps = [k for k in enquiry.keeps if candidate.rung in k.rungs]",
        "keeps = [k for k in enquiry.keeps if not k.rungs]",
    ),
    Fault(
        "improving-10",
        "records",
        "proposing/titles.py",
        "sign",
        "what saves least is worth its few cells",
        "today - price_of(c) >= _HALF * most]",
        "today - price_of(c) <= _HALF * most]",
    ),
)
