"""The command line: each command is one call into the library and one rendering."""

import argparse
import io
import json
import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from flyoff.core.caution import CAUTION
from flyoff.core.problems import Problems

DONE, FINDINGS, FAILED = 0, 1, 2
STOPPED = 130
"""What shells say of a command that an interrupt from the keyboard has ended: 128 and the signal's number."""
_BELOW_ZERO = re.compile(r"^-(?=[\d.])")
"""The hyphen of a number below zero, which is no option: ``--people -5kg``."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status: 0 done, 1 with findings, 2 not done, 130 stopped."""
    told = sys.argv[1:] if arguments is None else arguments
    options = _parser().parse_args([_BELOW_ZERO.sub("−", word) for word in told])
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks ± still shows the rest
    try:
        status: int = options.run(options)
        return status
    except Problems as problems:
        count = len(problems.problems)
        for problem in problems.problems:
            print(problem, file=sys.stderr)
        print(f"{count} problem{'s' if count > 1 else ''}; nothing was written.", file=sys.stderr)
        return FAILED
    except BrokenPipeError:
        sys.stderr.close()
        return DONE
    except KeyboardInterrupt:
        print("stopped; nothing half-written is left behind.", file=sys.stderr)
        return STOPPED
    except OSError as error:
        print(f"{error.filename or 'file system'}: {error.strerror}", file=sys.stderr)
        return FAILED


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="flyoff",
        description="Light aircraft on equal terms: from handbooks and a flown day to published figures.",
        epilog=CAUTION,
        allow_abbrev=False,
    )
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    def command(name: str, run: Callable[[argparse.Namespace], int], words: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=words, description=words, epilog=CAUTION, allow_abbrev=False)
        sub.set_defaults(run=run)
        return sub

    demo = command("demo", _demo, "write the invented study, build it, and say where to look")
    demo.add_argument("folder", nargs="?", type=Path, default=Path("flyoff-demo"), metavar="FOLDER")
    demo.add_argument("--json", action="store_true", help="print the figures as JSON")
    new = command("new", _new, "start a study: commented files to fill in")
    new.add_argument("folder", type=Path, metavar="FOLDER")
    _build_arguments(
        command("build", _build, "reduce, compare, and write report, charts and tables into out/")
    )
    reduce = command("reduce", _reduce, "reduce one flight: repairs, steady conditions, points, calibration")
    reduce.add_argument("flight", type=Path, metavar="FLIGHT.toml|LOG.csv")
    reduce.add_argument("--json", action="store_true", help="print points, legs and repairs as JSON")
    page = "write a page to look at into FILE.html: charts, points, legs, repairs; none is written otherwise"
    reduce.add_argument("--page", type=Path, metavar="FILE.html", help=page)
    reduce.add_argument("--propose", action="store_true", help="print a flight file proposed for a log")
    plan = command("plan", _plan, "choose what to fly: conditions, order, times; what more time would buy")
    plan.add_argument("flight", type=Path, metavar="FLIGHT.toml", help="a flight file with [plan]")
    plan.add_argument("--json", action="store_true", help="print the plan as JSON")
    plan.add_argument(
        "--cards", type=Path, metavar="FOLDER", help="write cards to print and a page to fill in into FOLDER"
    )
    _load_arguments(command("load", _load, "weight and balance through the flight, and what still fits"))
    _trip_arguments(
        command("trip", _trip, "who can fly a trip, how long, on how much fuel, with how many stops")
    )
    what = "which published figures differ, and which file's change did it"
    _changes_arguments(command("changes", _changes, what))
    _check_arguments(command("check", _check, "check a draft or captions: what in it is not so"))
    return parser


def _build_arguments(build: argparse.ArgumentParser) -> None:
    build.add_argument("folder", nargs="?", type=Path, default=Path(), metavar="FOLDER")
    build.add_argument("--json", action="store_true", help="print the figures as JSON")
    film = "also every chart as stills, numbered frames and films into out/film/ (minutes; flyoff[film])"
    build.add_argument("--film", action="store_true", help=film)
    kept = build.add_mutually_exclusive_group()
    edition = "keep what is published, with a copy of its records, in editions/NAME"
    kept.add_argument("--edition", metavar="NAME", help=edition)
    rebuild = (
        "make an edition again from its records into rebuilt/NAME, and hold it against what was published"
    )
    kept.add_argument("--rebuild", metavar="NAME", help=rebuild)


def _changes_arguments(changes: argparse.ArgumentParser) -> None:
    changes.add_argument("first", metavar="FIRST", help="an edition")
    second = "another edition; without it the study as it is"
    changes.add_argument("second", nargs="?", default="working", metavar="SECOND", help=second)
    _study_argument(changes)
    changes.add_argument("--json", action="store_true", help="print the changes as JSON")


def _load_arguments(load: argparse.ArgumentParser) -> None:
    where = "study folders, or aircraft files alone; without any this folder"
    load.add_argument("paths", nargs="*", type=Path, metavar="FOLDER|AIRCRAFT.toml", help=where)
    people = (
        "weights in the order of the seats, such as '86 kg' '70 kg in rear seats' 'mother: 150 lb' "
        "'standard female, NCC.POL.105'; or a number of people"
    )
    load.add_argument("--people", nargs="+", metavar="WEIGHT", help=people)
    load.add_argument("--bags", metavar="WEIGHT", help="baggage in all, such as '40 kg'")
    load.add_argument("--fuel", metavar="VOLUME", help="fuel at start, such as '120 L', or full")
    load.add_argument("--reserve", metavar="VOLUME", help="fuel left at landing, such as '25 L'")
    load.add_argument("--density", metavar="DENSITY", help="what the fuel weighs, such as '0.72 kg/L'")
    load.add_argument("--json", action="store_true", help="print the loadings as JSON")


def _study_argument(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--study", type=Path, default=Path(), metavar="FOLDER", help="the study; else this folder"
    )


def _trip_arguments(trip: argparse.ArgumentParser) -> None:
    place = "ICAO code of the airport, or a place of the study"
    trip.add_argument("start", metavar="FROM", help=place)
    trip.add_argument("end", metavar="TO", help=place)
    _study_argument(trip)
    trip.add_argument("--people", metavar="N", help="people aboard; without it those of the terms")
    trip.add_argument("--bags", metavar="WEIGHT", help="baggage in all, such as '40 kg'")
    trip.add_argument("--wind", metavar="SPEED", help="head wind, such as '15 kt'; a minus for a tail wind")
    trip.add_argument("--aloft", metavar="NAME", help="winds aloft of the study instead")
    trip.add_argument("--altitude", metavar="ALTITUDE", help="pressure altitude, such as '8,000 ft', or best")
    trip.add_argument("--return", dest="back", action="store_true", help="there and back")
    trip.add_argument("--json", action="store_true", help="print the figures as JSON")


def _check_arguments(check: argparse.ArgumentParser) -> None:
    kinds = "drafts and captions: Markdown, plain text, DOCX, SRT, WebVTT"
    check.add_argument("files", nargs="+", type=Path, metavar="FILE", help=kinds)
    study = "a study to compare with; without one, only what no airplane could do is found"
    check.add_argument("--study", type=Path, metavar="FOLDER", help=study)
    check.add_argument("--all", action="store_true", help="show also what is not a figure: dates, counts")
    check.add_argument("--json", action="store_true", help="print every finding as JSON")
    page = "write a copy of the drafts with each quantity marked and its reason"
    check.add_argument("--html", type=Path, metavar="FILE.html", help=page)
    unused = "list the study's figures that the files use nowhere"
    check.add_argument("--unused", action="store_true", help=unused)
    bind = "propose links from words to the figures that they agree with; nothing is written without --write"
    check.add_argument("--bind", action="store_true", help=bind)
    write = (
        "update bound words that no longer hold, or with --bind write the links; each file is copied first"
    )
    check.add_argument("--write", action="store_true", help=write)
    export = "write the draft without its links to figures, unless something in it is wrong"
    check.add_argument("--export", type=Path, metavar="FILE.md", help=export)


def _progress(*, quiet: bool) -> Callable[[str], None]:
    """Return what tells of progress: on a terminal only, and never into the results."""
    if quiet or not sys.stderr.isatty():
        return lambda _: None
    return lambda words: print(f"  {words}", file=sys.stderr, flush=True)


def _demo(options: argparse.Namespace) -> int:
    from flyoff.demo.write import write_demo
    from flyoff.study.schema import write_schemas

    write_demo(options.folder)
    write_schemas(options.folder)
    return _build(options)


def _new(options: argparse.Namespace) -> int:
    from flyoff.demo.write import write_starter
    from flyoff.study.schema import write_schemas

    written = (*write_starter(options.folder), *write_schemas(options.folder))
    for path in written:
        print(path)
    print(f"Fill in study.toml and aircraft/, then: flyoff build {options.folder}")
    return DONE


def _build(options: argparse.Namespace) -> int:
    from flyoff.study.run import build

    progress = _progress(quiet=options.json)
    if getattr(options, "rebuild", None) is not None:
        return _rebuild(options)
    if (name := getattr(options, "edition", None)) is not None:
        from flyoff.study.editions import build_edition

        result = build_edition(options.folder, name, progress, film=options.film)
    else:
        result = build(options.folder, progress, film=getattr(options, "film", False))
    findings = result.study.findings()
    for words in (*findings, *result.study.folder.house.language.unsaid()):
        print(words, file=sys.stderr)
    status = FINDINGS if findings else DONE
    if options.json:
        _print_json({"figures": result.figure_records, "remarks": list(result.comparison.remarks)})
        return status
    from flyoff.study.summary import print_comparison

    print_comparison(result.comparison, result.study.folder.house.wording)
    print(f"\n{CAUTION}\n\nReport: {result.report}")
    if getattr(options, "edition", None) is not None:
        print(f"Edition: {options.folder / 'editions' / options.edition}")
    return status


def _rebuild(options: argparse.Namespace) -> int:
    from flyoff.study import changes_text, kept

    rebuilt = kept.rebuild(options.folder, options.rebuild, _progress(quiet=options.json))
    if options.json:
        _print_json(changes_text.rebuilt_data(rebuilt))
    else:
        print(changes_text.rebuilt_text(rebuilt))
    return FINDINGS if rebuilt.differing else DONE


def _changes(options: argparse.Namespace) -> int:
    from flyoff.study import changes, changes_text

    found = changes.changes(options.study, options.first, options.second, _progress(quiet=options.json))
    if options.json:
        _print_json(changes_text.changes_data(found))
    else:
        print(changes_text.changes_text(found))
    return FINDINGS if any(change.printed for change in found.figures) else DONE


def _reduce(options: argparse.Namespace) -> int:
    from flyoff.study import reduce

    if options.propose:
        print(reduce.propose(options.flight), end="")
        return DONE
    if options.page:
        from flyoff.study import seen

        seen.check_page(options.page)
    result = reduce.reduced(options.flight)
    if options.page:
        seen.write_page(result, options.page)
    if options.json:
        _print_json(reduce.reduction_data(result))
    else:
        print(reduce.reduction_text(result))
        if options.page:
            print(f"\nPage: {options.page}")
    return DONE


def _plan(options: argparse.Namespace) -> int:
    from flyoff.study import plan

    result = plan.planned(options.flight)
    written = plan.write_cards(result, options.flight, options.cards) if options.cards else ()
    if options.json:
        _print_json(plan.plan_data(result))
        return DONE
    print(plan.plan_text(result))
    for path in written:
        print(path)
    return DONE


def _load(options: argparse.Namespace) -> int:
    from flyoff.study import load, load_text

    asked = load.Asked(
        tuple(options.people or ()), options.bags, options.fuel, options.reserve, options.density
    )
    loaded, problems = load.load_all(options.paths or [Path()], asked)
    if options.json:
        _print_json(load_text.load_data(loaded))
    else:
        print(load_text.load_text(loaded))
    for problem in problems:
        print(problem, file=sys.stderr)
    kept = all(one.answer.kept for one in loaded)
    return DONE if kept and not problems else FINDINGS


def _trip(options: argparse.Namespace) -> int:
    from flyoff.study import trip, trip_text

    asked = trip.Asked(
        options.start, options.end, options.people, options.bags, options.wind, options.aloft,
        options.altitude, options.back,
    )  # fmt: skip
    answer, problems = trip.fly(options.study, asked)
    if options.json:
        _print_json(trip_text.trip_data(answer))
    else:
        print(trip_text.trip_text(answer))
    for problem in problems:
        print(problem, file=sys.stderr)
    flown = all(leg.nonstop is not None for flight in answer.flights for leg in flight.legs)
    return DONE if flown and not problems else FINDINGS


def _check(options: argparse.Namespace) -> int:
    from flyoff.study import check, living, living_text

    changing = options.bind or options.write
    living_text.check_options(
        options.files, options.study, options.export, changing=changing, unused=options.unused
    )
    if options.html:
        check.check_page(options.html)
    checking = check.checking(options.files, options.study, _progress(quiet=options.json))
    if options.html:
        check.write_page(checking.checked, options.html, figures=options.study is not None)
    data, said = check.check_data(checking), []
    if changing:
        ask = options.bind and options.write and not options.json and sys.stdin.isatty()
        choose = _confirmed if ask else living_text.all_of_them
        rewritings = living.bound_anew(checking, choose) if options.bind else living.updated(checking)
        copies = living.write(rewritings) if options.write else ()
        data["changes"] = living_text.changes_data(rewritings, copies)
        said.append(living_text.changes_text(rewritings, copies, written=options.write))
    if options.export and not checking.faulty:
        said.append(living_text.exported(options.files[0], options.export))
    if options.json:
        _print_json(data)
    else:
        print(check.check_text(checking, everything=options.all, unused=options.unused))
        print("".join(f"\n{text}\n" for text in said), end="")
        if options.html:
            print(f"Page: {options.html}")
    if options.export and checking.faulty:
        print(f"{options.export} was not written: something in the draft is wrong.", file=sys.stderr)
    return FINDINGS if checking.faulty else DONE


def _confirmed(change: Any) -> bool:
    """Ask whether a change is wanted; without an answer it is not."""
    print(f"{change.place}: {change.old} -> {change.new}")
    try:
        return input("  bind it? [y/n] ").strip().lower() in ("y", "yes")
    except EOFError:
        return False


def _print_json(data: dict[str, Any]) -> None:
    print(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False))
