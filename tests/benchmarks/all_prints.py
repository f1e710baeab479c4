"""Every row of the demo catalogue printed, loaded and recorded as the tests do it with some.

    python -m tests.benchmarks.all_prints [PART ...]

Takes minutes; ends with 1 if a row is not as designed.
"""

from __future__ import annotations

import sys

from tests.evidence.printing.test_catalogue import (
    ALL,
)
from tests.evidence.printing.test_catalogue import (
    test_prints_holds_and_bridges_what_was_designed_and_its_record_follows_the_schema as is_sound,
)


def main() -> None:
    """Print a line for each row."""
    wanted, bad = set(sys.argv[1:]), 0
    for row in ALL:
        if wanted and row.part_number not in wanted:
            continue
        try:
            is_sound(row)
        except AssertionError as error:
            bad += 1
            print(f"{row.part_number}: {error}", flush=True)
        else:
            print(f"{row.part_number}: as designed", flush=True)
    sys.exit(int(bad > 0))


if __name__ == "__main__":
    main()
