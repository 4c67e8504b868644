"""Runs eaves and the Python peer over the synthetic region, checks that they agree, prints tables.

usage: measure.py EAVES PHASES GENERATOR WORK [--sizes large,medium,dense] [--curve] [--repeat N]

EAVES, PHASES and GENERATOR are the built programs; WORK is a folder for data, some gigabytes. Run it
with the Python that has requirements.txt. Cores are held by taskset; times are wall-clock with CPU time
beside them, the least of the repetitions; memory is the greatest resident set of the process.
"""

import csv
import json
import math
import os
import platform
import shutil
import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).parent
PROFILE = HERE / "profile.toml"
PEER = HERE / "peer.py"


def run(command, cores):
    """Wall seconds, CPU seconds, peak MiB and standard output of a process held to some cores."""
    command = ["taskset", "-c", ",".join(map(str, range(cores))), *map(str, command)]
    start = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    out, err = child.stdout.read(), child.stderr.read()
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(command)}\n{err.decode()}")
    return {
        "wall": time.perf_counter() - start,
        "cpu": usage.ru_utime + usage.ru_stime,
        "mib": usage.ru_maxrss / 1024,
        "out": out.decode(),
    }


def best(command, cores, repeat):
    runs = [run(command, cores) for _ in range(repeat)]
    least = min(runs, key=lambda it: it["wall"])
    return {**least, "cpu": min(it["cpu"] for it in runs), "mib": max(it["mib"] for it in runs)}


def generate(generator, folder, *options):
    if not (folder / "sites.geojson").exists():
        run([generator, folder, *options], 2)
    return folder


def screen(eaves, data, out, cores):
    shutil.rmtree(out, ignore_errors=True)
    return [
        eaves, "screen", data / "sites.geojson", "--layers", data / "layers", "--out", out,
        "--profile", PROFILE, "--threads", cores, "--date", "2026-07-01", "--quiet",
    ]


def number(text):
    return float(text) if text not in ("", "nan") else math.nan


def agree(rows_path, inside_path, outside_path):
    """Counts what differs by more than it may. The peer's circles inside and outside bracket the truth:
    an answer above what the outer circles allow is optimistic."""
    counts = dict.fromkeys(
        ["sites", "aerodrome", "distance", "bearing", "state", "share", "ceiling", "optimistic"], 0
    )
    worst = {"distance_m": 0.0, "share": 0.0, "ceiling_m": 0.0}
    with open(rows_path) as a, open(inside_path) as b, open(outside_path) as c:
        for row, inner, outer in zip(csv.DictReader(a), csv.DictReader(b), csv.DictReader(c), strict=True):
            counts["sites"] += 1
            if row["id"] != inner["id"]:
                raise SystemExit(f"rows are out of order: {row['id']} beside {inner['id']}")
            mine, theirs = number(row["distance_m"]), number(inner["distance_m"])
            if math.isnan(mine) != math.isnan(theirs):
                counts["aerodrome"] += 1
            elif not math.isnan(mine):
                # Another aerodrome may be as near to the centimetre.
                counts["aerodrome"] += inner["aerodrome"] not in row["aerodrome"]
                worst["distance_m"] = max(worst["distance_m"], abs(mine - theirs))
                counts["distance"] += abs(mine - theirs) > 0.05
                turn = (number(row["bearing_true_deg"]) - number(inner["bearing_true_deg"]) + 180) % 360
                # A bearing that is 5 m off across the line of sight.
                counts["bearing"] += abs(turn - 180) > 0.01 + math.degrees(5 / max(mine, 5))
            margin = number(inner["margin_m"])
            if row["zone_state"] != inner["state"] and abs(margin) > 0.1:
                counts["state"] += 1
            share = number(row["covered_share"])
            low, high = number(inner["share"]), number(outer["share"])
            worst["share"] = max(worst["share"], low - share, share - high)
            counts["share"] += share < low - 0.002
            is_optimistic = share > high + 2e-6
            ceiling = number(row["ceiling_m_agl"])
            if not math.isnan(ceiling):
                low, high = number(inner["ceiling_m"]), number(outer["ceiling_m"])
                if row["ceiling_of"] == "whole":
                    is_optimistic |= outer["whole"] != "1" or ceiling > high + 0.002
                    if inner["whole"] == "1":
                        worst["ceiling_m"] = max(worst["ceiling_m"], low - ceiling)
                        counts["ceiling"] += ceiling < low - 0.15
                else:
                    # Of the covered part: a speck more or less may move it either way.
                    counts["ceiling"] += inner["whole"] == "1" and outer["whole"] == "1"
            counts["optimistic"] += is_optimistic
    return counts, worst


def versions(eaves):
    words = [run([eaves, "--version"], 1)["out"].strip(), f"Python {platform.python_version()}"]
    for line in (HERE / "requirements.txt").read_text().split():
        words.append(line.replace("==", " "))
    model = [l for l in Path("/proc/cpuinfo").read_text().splitlines() if "model name" in l]
    words.append(f"{os.cpu_count()} cores, {model[0].split(':')[1].strip() if model else '?'}")
    return "; ".join(words)


def line(*cells):
    print("| " + " | ".join(str(cell) for cell in cells) + " |", flush=True)


def seconds(it):
    return f"{it['wall']:.2f} s ({it['cpu']:.2f})"


def compare_size(tools, work, size, repeat):
    eaves, phases, generator = tools
    data = generate(generator, work / size, "--size", size)
    out = work / f"{size}-rows"
    for cores in (1, 2):
        mine = []
        for _ in range(repeat):
            mine.append(run(screen(eaves, data, out, cores), cores))
        best_mine = min(mine, key=lambda it: it["wall"])
        peer = best(
            [sys.executable, PEER, data / "sites.geojson", data / "layers", work / "in.csv",
             work / "times.json"], cores, repeat,
        )
        laps = json.loads((work / "times.json").read_text())
        phase = json.loads(best(
            [phases, data / "sites.geojson", data / "layers", PROFILE, cores], cores, repeat)["out"])
        line(size, cores, "end to end", seconds(best_mine), seconds(peer),
             f"{peer['wall'] / best_mine['wall']:.1f} ({peer['cpu'] / best_mine['cpu']:.1f})")
        line(size, cores, "load and index, all obstacles", f"{phase['load_and_index_s']:.2f} s",
             f"{laps['load_and_index_s']:.2f} s",
             f"{laps['load_and_index_s'] / phase['load_and_index_s']:.1f}")
        screening = laps["aerodromes_s"] + laps["shielding_s"]
        line(size, cores, "screening alone", f"{phase['screening_s']:.2f} s", f"{screening:.2f} s",
             f"{screening / phase['screening_s']:.1f}")
        line(size, cores, "peak memory", f"{max(it['mib'] for it in mine):.0f} MiB",
             f"{peer['mib']:.0f} MiB", f"{peer['mib'] / best_mine['mib']:.1f}")
    run([sys.executable, PEER, data / "sites.geojson", data / "layers", work / "out.csv", "--outside",
         work / "times.json"], 2)
    counts, worst = agree(out / "rows.csv", work / "in.csv", work / "out.csv")
    print(f"\n{size}: {json.dumps(counts)}; worst {json.dumps(worst)}\n", flush=True)
    return counts["optimistic"]


def cold(tools, work, repeat):
    """One site over the large layers, raw and prepared."""
    eaves, _, generator = tools
    data = generate(generator, work / "large", "--size", "large")
    # A feature to a line. Not parsed whole: what this process holds counts as memory of its children.
    with open(data / "sites.geojson") as lines:
        text = next(line for line in lines if '"Polygon"' in line)
    one = work / "one.geojson"
    one.write_text(text.strip().rstrip(","))
    prepared = work / "prepared"
    if not prepared.exists():
        made = run([eaves, "prepare", data / "layers", "--out", prepared], 2)
        line("large", 2, "eaves prepare", seconds(made), "", "")
    for name, layers in (("raw", data / "layers"), ("prepared", prepared)):
        for cores in (1, 2):
            it = best(
                [eaves, "assess", one, "--layers", layers, "--profile", PROFILE, "--date",
                 "2026-07-01"], cores, repeat + 2,
            )
            line("large", cores, f"one cold site, {name} layers", seconds(it), "", f"{it['mib']:.0f} MiB")


def curve(tools, work, repeat):
    """Three decades of sites over the same layers; three decades of obstacles at the same density."""
    eaves, phases, generator = tools
    data = generate(generator, work / "large", "--size", "large")
    print("\n| sites | screening alone, one core | a site |\n|---|---|---|")
    for count in (200, 2_000, 20_000, 200_000):
        it = json.loads(best(
            [phases, data / "sites.geojson", data / "layers", PROFILE, 1, count], 1, repeat)["out"])
        line(f"{count}", f"{it['screening_s']:.3f} s", f"{1e6 * it['screening_s'] / count:.1f} us")
    print("\n| obstacles | screening 20 000 sites alone, one core | load and index |\n|---|---|---|")
    for count in (2_500, 25_000, 250_000, 2_500_000):
        extent = 800 * math.sqrt(count / 2_500_000)
        data = generate(
            generator, work / f"obstacles-{count}", "--extent-km", f"{extent:.3f}", "--sites", 20_000,
            "--spans", count // 5, "--structures", count * 4 // 5, "--aerodromes",
            max(3, count * 3 // 2_500),
        )
        it = json.loads(best(
            [phases, data / "sites.geojson", data / "layers", PROFILE, 1], 1, repeat)["out"])
        line(f"{count}", f"{it['screening_s']:.3f} s", f"{it['load_and_index_s']:.3f} s")


def main():
    words = [word for word in sys.argv[1:] if not word.startswith("--")]
    options = sys.argv[1:]
    value = lambda name, default: options[options.index(name) + 1] if name in options else default
    tools, work = words[:3], Path(words[3])
    work.mkdir(parents=True, exist_ok=True)
    repeat = int(value("--repeat", "3"))
    print(f"{time.strftime('%Y-%m-%d')}; {versions(tools[0])}; load {os.getloadavg()[0]:.1f}\n")
    print("| size | cores | what | eaves | peer | ratio |\n|---|---|---|---|---|---|")
    optimistic = 0
    for size in value("--sizes", "large,medium,dense").split(","):
        optimistic += compare_size(tools, work, size, repeat)
    if "--cold" in options:
        cold(tools, work, repeat)
    if "--curve" in options:
        curve(tools, work, repeat)
    raise SystemExit(1 if optimistic else 0)


if __name__ == "__main__":
    main()
