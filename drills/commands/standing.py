"""Where a taster stands: weak pairs, progress, and the memory model fitted to them."""

from __future__ import annotations

import argparse
import sys

from drills.commands.asking import Commands, desk_of


def add_to(commands: Commands) -> None:
    """Put these commands on the command line."""
    commands.add("weak", _weak, "list the pairs that are still confused in the glass", json=True)
    commands.add("progress", _progress, "print recall, its forecast, sureness and calls", json=True)
    report = commands.add("report", _report, "write progress as one page to print")
    report.add_argument("file", metavar="FILE.html", help="the page; one that exists is replaced")
    fit = commands.add("fit", _fit, "fit the memory model to your own answers", json=True)
    fit.add_argument(
        "--undo", action="store_true", help="go back to the usual numbers; answers stay"
    )


def _weak(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json, print_weak, weak_json
    from drills.service.weak import weak

    desk = desk_of(options)
    pairs = weak(desk)
    if options.json:
        print_json(weak_json(pairs))
    else:
        print_weak(desk, pairs)
    return 0


def _progress(options: argparse.Namespace) -> int:
    from drills.commands.printing import print_json
    from drills.commands.progress_text import print_progress, progress_json
    from drills.service.progress import progress

    desk = desk_of(options)
    found = progress(desk)
    if options.json:
        print_json(progress_json(desk, found))
    else:
        print_progress(found)
    return 0


def _report(options: argparse.Namespace) -> int:
    from drills.report import write_report
    from drills.service.progress import progress

    desk = desk_of(options)
    write_report(desk, progress(desk), options.file)
    print(f"written to {options.file}")
    return 0


def _fit(options: argparse.Namespace) -> int:
    from dataclasses import asdict

    from drills.commands.printing import print_json
    from drills.service.fitting import Step, comparison, fit_taster, keep, kept

    desk = desk_of(options)
    if options.undo:
        had = kept(desk) is not None
        keep(desk, None)
        print("back to the usual numbers" if had else "the usual numbers were in use already")
        return 0
    shown = sys.stderr.isatty()

    def told(step: Step) -> None:
        if shown:
            line = f"fitting, {step.nth} of {step.of}: {step.words}"
            print(f"\r{line:<70}", end="", file=sys.stderr, flush=True)

    try:
        found = fit_taster(desk, told)
    finally:
        if shown:
            print(file=sys.stderr)
    if options.json:
        print_json({**asdict(found), "kept": found.better})
        return 0
    print("\n".join(comparison(found)))
    print(
        "kept: your numbers are in use; --undo takes them back"
        if found.better
        else "not kept: they foretell no better"
    )
    return 0
