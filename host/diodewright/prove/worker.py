"""One worker of a proof: an id a line in, a verdict a line out.

The first line is the job: source, solver time and settings. A process of its own, so that the
solver can be stopped whatever it is doing, and so that nothing depends on how the caller was
started.
"""

import json
import sys
from dataclasses import asdict

from diodewright.prove.obligation import Bench
from diodewright.prove.obligations import obligation_of
from diodewright.prove.solve import decide
from diodewright.prove.source import read_law


def main() -> None:
    """Answer until there are no more lines."""
    job = json.loads(sys.stdin.readline())
    bench = Bench(read_law(job["source"]), job["settings"])
    for line in sys.stdin:
        verdict = decide(bench, obligation_of(line.strip()), job["timeout_s"])
        sys.stdout.write(json.dumps(asdict(verdict)) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
