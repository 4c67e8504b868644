"""Times eaves and matplotlib drawing the same layers; see README.md."""

import json
import pathlib
import resource
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
ROUNDS = 9


def median_of(command, allowed=(0,)):
    """Medians of wall and processor time of a command, seconds, and what it printed."""
    wall, processor = [], []
    for _ in range(ROUNDS):
        before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
        done = subprocess.run(command, capture_output=True, text=True)
        wall.append(time.perf_counter() - start)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        processor.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
        if done.returncode not in allowed:
            sys.exit(done.stderr)
    return (statistics.median(wall), statistics.median(processor)), done.stdout


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
    print("medians, seconds           wall   processor")
    for name, times in [
        ("eaves, whole process", ours),
        ("  without the figure", without),
        ("matplotlib, whole process", theirs),
    ]:
        print(f"{name:26}{times[0]:5.3f}   {times[1]:5.3f}")
    print(f"  drawing and saving only {drawn['seconds']:5.3f}")
    print(f"ratio                     {theirs[0] / ours[0]:5.1f}   {theirs[1] / ours[1]:5.1f}")
    print(f"{drawn['marks']} marks, {drawn['texts']} texts; {drawn['versions']}")


main()
