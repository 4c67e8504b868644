#!/usr/bin/env python3
"""How long one site takes in a cold process, for many sites of a synthetic region.

    cold.py PROGRAM SITES PREPARED [--sites 50] [--runs 9]

PROGRAM is `eaves` or `eaves-lean`, SITES the region's sites.geojson, PREPARED a folder that
`eaves prepare` wrote. Sites are taken evenly from the file; of each the median of its runs counts.
Wall clock from the start of the process to its end, the page thrown away; the files are in the cache of
the system after the first run.
"""

import argparse
import json
import os
import pathlib
import tempfile
import time


def once(program, area, layers):
    arguments = [program, "assess", str(area), "--layers", layers, "--date", "2026-07-01"]
    nowhere = (os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)
    start = time.perf_counter()
    child = os.posix_spawn(program, arguments, os.environ, file_actions=[nowhere])
    _, status = os.waitpid(child, 0)
    took = time.perf_counter() - start
    code = os.waitstatus_to_exitcode(status)
    if code not in (0, 1):
        raise SystemExit(f"{area}: exit code {code}")
    return took


def middle(values):
    return sorted(values)[len(values) // 2]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("program")
    parser.add_argument("sites")
    parser.add_argument("prepared")
    parser.add_argument("--sites", dest="count", type=int, default=50)
    parser.add_argument("--runs", type=int, default=9)
    asked = parser.parse_args()
    features = json.loads(pathlib.Path(asked.sites).read_text())["features"]
    step = max(1, len(features) // asked.count)
    took = []
    with tempfile.TemporaryDirectory() as folder:
        for feature in features[::step][: asked.count]:
            area = pathlib.Path(folder) / "area.geojson"
            area.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
            runs = [once(asked.program, area, asked.prepared) for _ in range(asked.runs + 1)]
            took.append(1000 * middle(runs[1:]))
    took.sort()
    ninth = took[len(took) * 9 // 10]
    print(
        f"{len(took)} sites: least {took[0]:.1f} ms, median {middle(took):.1f} ms, nine of ten within "
        f"{ninth:.1f} ms, most {took[-1]:.1f} ms; {sum(it < 20 for it in took)} in less than 20 ms"
    )


if __name__ == "__main__":
    main()
