"""Times eaves and matplotlib drawing the same layers; see README.md."""

import json
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
ROUNDS = 9


def median_of(command, allowed=(0,)):
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        done = subprocess.run(command, capture_output=True, text=True)
        times.append(time.perf_counter() - start)
        if done.returncode not in allowed:
            sys.exit(done.stderr)
    return statistics.median(times), done.stdout


def main():
    eaves = sys.argv[1]
    demo = HERE.parent.parent / "demo-layers"
    layers = pathlib.Path(sys.argv[2]) if len(sys.argv) > 2 else demo
    area = layers / ("area.geojson" if layers == demo else "operating_area.geojson")
    feature = sys.argv[3] if len(sys.argv) > 3 else None
    with tempfile.TemporaryDirectory() as folder:
        png = pathlib.Path(folder) / "site.png"
        command = [eaves, "assess", area, "--layers", layers, "--figure", png]
        if feature:
            command += ["--feature", feature]
        # 1: answered with something undetermined.
        ours, _ = median_of(command, (0, 1))
        without, _ = median_of([word for word in command if word not in ("--figure", png)], (0, 1))
        theirs, said = median_of(
            [sys.executable, HERE / "with_matplotlib.py", area, layers, png, feature or ""]
        )
        drawn = json.loads(said)
    print(f"eaves, whole process       {ours:7.3f} s")
    print(f"  without the figure       {without:7.3f} s")
    print(f"matplotlib, whole process  {theirs:7.3f} s   ratio {theirs / ours:5.1f}")
    print(f"  drawing and saving only  {drawn['seconds']:7.3f} s   ratio {drawn['seconds'] / ours:5.1f}")
    print(f"  {drawn['marks']} marks, {drawn['texts']} texts; {drawn['versions']}")


main()
