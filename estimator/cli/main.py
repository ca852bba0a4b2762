"""The command: arguments in, one verb called, an exit code out. Only argparse is loaded up front."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from importlib import import_module
from typing import NoReturn

from estimator.cli.arguments import collecting

VERBS = {
    "check": ("estimator.cli.look", "find every fault of a project file, then the trade's warnings"),
    "estimate": ("estimator.cli.write", "write the estimate workbook, the proposal and the calculation sheets"),
    "criteria": ("estimator.cli.write", "write the test plan, the field sheets and the id list"),
    "labels": ("estimator.cli.labels", "write label sheets, the label list, port maps and rack elevations"),
    "collect": ("estimator.cli.collect", "take filled field sheets into the readings folder"),
    "readings": ("estimator.cli.readings", "list what was read of a circuit, round by round, and what of it counts"),
    "progress": ("estimator.cli.progress", "tell what is tested, passed, failed and left, and why"),
    "closeout": ("estimator.cli.write", "write the closeout workbook and the turnover binder"),
    "compare": ("estimator.cli.compare", "set the bid against what is built, or one project file against another"),
    "lessons": ("estimator.cli.lessons", "tell how lengths came out, and the rules that would have fitted"),
    "figures": ("estimator.cli.look", "list every computed number"),
    "explain": ("estimator.cli.look", "show how one number came to be"),
    "schema": ("estimator.cli.look", "print the JSON Schema of the project file, or its keys as a table"),
    "demo": ("estimator.cli.demo", "run the whole job on the demo project"),
}
"""Each verb with the module that does it (imported only when called) and what it is for."""

WRITERS = ("estimate", "criteria", "labels", "closeout")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is not a date; write it as 2026-03-31") from None


def _named(text: str) -> str:
    if not text.strip():
        raise argparse.ArgumentTypeError("an empty name is no file or folder")
    return text


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="dropledger",
        description="One project file carries a low-voltage cabling job from bid to handover.",
        epilog="Exit codes: 0 done, 1 faults in what was handed in, 2 wrong usage.",
    )
    parser.add_argument("--version", action="store_true", help="print the version and stop")
    verbs = parser.add_subparsers(dest="verb", metavar="VERB")
    for name, (_, purpose) in VERBS.items():
        verb = verbs.add_parser(name, help=purpose, description=purpose[0].upper() + purpose[1:] + ".")
        if name not in ("demo", "schema"):
            verb.add_argument("spec", metavar="SPEC", help="the project file (YAML)")
        if name in (*WRITERS, "demo"):
            _writing(verb, name)
        if name == "schema":
            verb.add_argument("--table", action="store_true", help="a line for each key instead, for people")
        if name == "collect":
            collecting(verb)
        if name == "readings":
            verb.add_argument("circuit", metavar="CIRCUIT", nargs="?", help="one circuit; without it a line a circuit")
        if name == "compare":
            _comparing(verb)
            _writing(verb, name)
        if name == "progress":
            verb.add_argument("--by", choices=("room", "system", "day", "person"), help="one of the tables alone")
        if name == "explain":
            verb.add_argument("figure", metavar="ID", help="id of a figure, such as drop.1A-A07.expected_length")
        if name in ("check", "figures", "explain", "collect", "readings", "progress", "compare", "lessons"):
            verb.add_argument(
                "--format", choices=("text", "json"), default="text", help="text for people, json for programs"
            )
    return parser


def _writing(verb: argparse.ArgumentParser, name: str) -> None:
    where = "out/demo" if name == "demo" else "out/NAME"
    verb.add_argument("--out", metavar="DIR", type=_named, help=f"folder for the documents (default {where})")
    verb.add_argument(
        "--date", type=_day, metavar="YYYY-MM-DD", help="date that documents show (default: the project's)"
    )
    verb.add_argument("--replace", action="store_true", help="overwrite documents that somebody edited since")
    verb.add_argument(
        "--templates",
        metavar="DIR",
        type=_named,
        help="folder with wording of your own, which replaces ours file by file",
    )
    verb.add_argument(
        "--base", metavar="FILE", type=_named, help="your company's .docx: its styles, paper, header, footer and logo"
    )
    verb.add_argument("--pages", action="store_true", help="page numbers in the contents, from LibreOffice's layout")
    verb.add_argument("--pdf", action="store_true", help="a tagged PDF beside each Word document, by LibreOffice")


def _comparing(verb: argparse.ArgumentParser) -> None:
    verb.add_argument(
        "new", metavar="NEW", nargs="?", help="the later file; without it SPEC's own baseline is the earlier"
    )
    verb.add_argument("--built", action="store_true", help="take the lengths that were read in place of the expected")
    verb.add_argument("--write", action="store_true", help="write the change order as a Word document, too")
    verb.add_argument("--number", metavar="CO-1", default="", help="entry of the change log that the order is for")


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("dropledger")
    except PackageNotFoundError:
        return "not installed"


def _chosen(parser: argparse.ArgumentParser, arguments: Sequence[str] | None) -> argparse.Namespace:
    """Return what was asked for; sheets may also stand behind the options of their verb."""
    chosen, rest = parser.parse_known_args(arguments)
    if chosen.verb == "collect" and not any(word.startswith("-") for word in rest):
        chosen.sheets = [*chosen.sheets, *rest]
    elif rest:
        parser.error(f"unrecognized arguments: {' '.join(rest)}")
    return chosen


@contextmanager
def _uncollected() -> Iterator[None]:
    """Leave the memory alone while a verb runs: a job's records only grow, and the process ends soon."""
    collects = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collects:
            gc.enable()


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code: 0 done, 1 faults, 2 wrong usage."""
    parser = _parser()
    try:
        chosen = _chosen(parser, arguments)
    except SystemExit as done:
        return int(done.code or 0)
    if chosen.version:
        print(f"dropledger {_version()}")
        return 0
    if chosen.verb is None:
        parser.print_usage(sys.stderr)
        print("dropledger: name a verb; `dropledger --help` lists them", file=sys.stderr)
        return 2
    try:
        run = getattr(import_module(VERBS[chosen.verb][0]), chosen.verb)
        with _uncollected():
            code = int(run(chosen))
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        # The reader of our output has gone; the rest of it is nobody's.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except KeyboardInterrupt:
        print("dropledger: stopped; nothing half-written is left", file=sys.stderr)
        return 130
    except OSError as refused:
        if os.environ.get("DROPLEDGER_DEBUG"):
            raise
        where = f"{refused.filename}: " if refused.filename else ""
        print(f"dropledger: {where}{refused.strerror or refused}; mend that and run it again", file=sys.stderr)
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except Exception as bug:
        if os.environ.get("DROPLEDGER_DEBUG"):
            raise
        print(f"dropledger: a mistake of the program, not of yours: {type(bug).__name__}: {bug}", file=sys.stderr)
        print("Please report it with the project file; DROPLEDGER_DEBUG=1 shows where it happened.", file=sys.stderr)
        return 1


def command() -> NoReturn:
    """Run as the process that a shell started, and leave at once.

    A big job's records are millions; handing each of them back to a process that ends takes as long as
    judging them. Every file is written and closed by then.
    """
    gc.disable()
    code = main()
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except OSError:
        code = code or 1  # whoever read our output has gone
    os._exit(code)


if __name__ == "__main__":
    command()
