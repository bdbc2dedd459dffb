"""What a study costs: time per sample from a hundred samples on, what a second thread brings, memory as it grows.

Every measurement is a process of its own, which solves a few samples first: loading the mechanics counts once a study,
not once a sample.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from cases.casefile import LIBRARY
from cases.study.run_study import run_study
from cases.study.studyfile import load_study

ROOT = Path(__file__).resolve().parent.parent
SIZES = (100, 1000, 10_000, 100_000)
WARM = 8
BY_THREADS = 400
"""Samples by which one thread and two are compared, or as many as are asked for at most."""
COUPLE = f"""
title = "One couple of second order with tolerances (invented example)"
case = "{LIBRARY / "one-couple-second-order.toml"}"
[sample]
design = "latin hypercube"
count = 100
seed = 7
""" + "".join(
    f"""
[[vary]]
key = '{key}'
distribution = "normal"
mean = "{mean} in"
deviation = "{deviation} in"
"""
    for key, mean, deviation in (
        ('attachment["molar tube"].slot.height', 0.0223, 0.0003),
        ("wire.section.height", 0.017, 0.0001),
        ("wire.section.depth", 0.025, 0.00015),
    )
)


@dataclass(frozen=True, slots=True)
class Work:
    """A study that is measured."""

    name: str
    text: str
    limit: float
    """Seconds for 10,000 samples on two cores."""
    largest: int
    """So many samples at most."""


WORKS = (
    Work(
        "torque curves of 12 angles, four sizes drawn",
        (LIBRARY / "studies" / "torque-expression.toml")
        .read_text(encoding="utf-8")
        .replace("../torque-through-play.toml", str(LIBRARY / "torque-through-play.toml")),
        120.0,
        10_000,
    ),
    Work("one-couple engagements, three sizes drawn", COUPLE, 90.0, 100_000),
)
MOST_MEMORY = 1024.0
"""MiB"""
LEAST_GAIN = 1.7
"""Throughput of two threads, in terms of one."""


def measured(work: int, samples: int, jobs: int) -> dict[str, Any]:
    """One study in a process of its own."""
    command = [sys.executable, "-m", "scripts.study_benchmark", "--child", str(work), str(samples), str(jobs)]
    found = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)
    if found.returncode != 0:
        sys.exit(f"study_benchmark: a measurement failed:\n{found.stderr}")
    said: dict[str, Any] = json.loads(found.stdout.splitlines()[-1])
    return said


def child(work: int, samples: int, jobs: int) -> None:
    """Measures in this process and prints what it found."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "study.toml"
        path.write_text(WORKS[work].text, encoding="utf-8")
        study = load_study(path, yes=True)
        run_study(replace(study, count=WARM), Path(folder) / "warm", jobs=jobs)
        study = replace(study, count=samples)
        memory: dict[int, float] = {}
        marks = {max(1, study.rows // 10), study.rows * 9 // 10}

        def heard(written: int, of: int) -> None:
            if written in marks:
                memory[written] = _resident()

        began, spent = time.perf_counter(), time.process_time()
        run_study(study, Path(folder) / "out", jobs=jobs, heard=heard)
        seconds, processor = time.perf_counter() - began, time.process_time() - spent
        print(
            json.dumps(
                {
                    "seconds": seconds,
                    "processor": processor,
                    "peak": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0,
                    "grown": memory[max(marks)] - memory[min(marks)],
                }
            )
        )


def _resident() -> float:
    """Memory in use now, MiB."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def main(arguments: Sequence[str] | None = None) -> None:
    """Prints one table for each kind of study."""
    parser = argparse.ArgumentParser(prog="scripts/study_benchmark", description=__doc__)
    parser.add_argument(
        "--most", type=int, default=10_000, metavar="N", help="samples at most; 10000 unless given"
    )
    parser.add_argument("--jobs", type=int, default=2, metavar="N", help="threads; 2 unless given")
    parser.add_argument("--child", nargs=3, type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args(arguments)
    if asked.child:
        child(*asked.child)
        return
    for number, work in enumerate(WORKS):
        print(f"\n{work.name}: at most {work.limit:g} s for 10,000 on two cores, and {MOST_MEMORY:g} MiB")
        print(
            f"{'samples':>8} {'threads':>8} {'s':>8} {'ms each':>8} {'processor ms':>13} {'peak MiB':>9} {'grown':>6}"
        )
        sizes = [size for size in SIZES if size <= min(work.largest, asked.most)] or [asked.most]
        for size in sizes:
            row = measured(number, size, asked.jobs)
            _print(size, asked.jobs, row)
            if size == 10_000:
                print(
                    f"{'':17} {'within' if row['seconds'] <= work.limit else 'above'} the limit of {work.limit:g} s"
                )
        few = min(BY_THREADS, asked.most)
        one, two = measured(number, few, 1), measured(number, few, 2)
        _print(few, 1, one)
        _print(few, 2, two)
        gain = one["seconds"] / two["seconds"]
        print(
            f"{'':17} two threads do {gain:.2f} times as much as one; at least {LEAST_GAIN:g} is wanted",
            flush=True,
        )
    print("\ngrown: memory from a tenth to nine tenths of the rows, MiB")


def _print(samples: int, jobs: int, row: dict[str, Any]) -> None:
    each, processor = (1e3 * row[name] / samples for name in ("seconds", "processor"))
    print(
        f"{samples:8d} {jobs:8d} {row['seconds']:8.1f} {each:8.2f} {processor:13.2f} "
        f"{row['peak']:9.0f} {row['grown']:6.1f}",
        flush=True,
    )


if __name__ == "__main__":
    main()
