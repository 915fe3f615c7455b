"""Many mutations of the demo, by hand: ``python tests/fuzz/run.py [COUNT] [FIRST SEED]``. Ends with 1 if any raised.

Each seed that raised is printed with the place. When it is put right, put it into ``FOUND`` of test_mutations.py, and keep
what it did to the file as a test beside the module that raised: a seed does something else once the demo's files change.
"""

from __future__ import annotations

import sys
import time
import traceback
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.fuzz.mutations import Shop, mutated, worked_out


def main() -> int:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    shop = Shop()
    raised: Counter[str] = Counter()
    begun = time.monotonic()
    slowest = (0.0, 0)
    for seed in range(first, first + count):
        name, text = mutated(seed)
        start = time.monotonic()
        try:
            worked_out(shop, name, text.encode("utf-8", "surrogatepass"), most=1)
        except Exception as fault:
            frames = traceback.extract_tb(fault.__traceback__)
            last = next((f for f in reversed(frames) if "loomleaf" in f.filename), frames[-1])
            place = f"{Path(last.filename).name}:{last.lineno} {type(fault).__name__}: {str(fault)[:80]}"
            if not raised[place]:
                print(f"seed {seed} {name}: {place}", flush=True)
            raised[place] += 1
        if (seed - first) % 1000 == 999:
            print(f"{seed - first + 1} done, {sum(raised.values())} raised", flush=True)
        slowest = max(slowest, (time.monotonic() - start, seed))
    took = f"{time.monotonic() - begun:.0f} s, slowest {slowest[0]:.2f} s (seed {slowest[1]})"
    print(f"{count} mutations in {took}; {sum(raised.values())} raised")
    for place, times in raised.most_common():
        print(f"  {times} times {place}")
    return 1 if raised else 0


if __name__ == "__main__":
    sys.exit(main())
