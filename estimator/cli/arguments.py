"""Arguments of the verbs that take many; like the command itself it loads argparse alone."""

from __future__ import annotations

from argparse import ArgumentParser


def collecting(verb: ArgumentParser) -> None:
    """Declare what the verb that takes sheets and decisions takes."""
    verb.add_argument("sheets", metavar="SHEET", nargs="*", help="filled field sheet (.xlsx, .csv, .json)")
    verb.add_argument("--mapping", metavar="FILE", help="mapping file (YAML) for the plain table of an instrument")
    verb.add_argument(
        "--evidence", metavar="FILE", nargs="+", default=[], action="extend", help="an instrument's own result files"
    )
    verb.add_argument("--decimals", choices=("point", "comma"), help="decimal sign of the sheets' text")
    verb.add_argument("--dates", choices=("mdy", "dmy", "ymd"), help="order of day, month and year in the sheets")
    verb.add_argument("--lengths", choices=("ft", "m"), help="unit of lengths, where no head names one")
    one = verb.add_argument_group("decisions about what was collected, one at a time")
    one.add_argument("--void", metavar="BATCH[:ROW]", help="a sheet, a row, evidence or a signature counts no more")
    one.add_argument("--restore", metavar="BATCH[:ROW]", help="it counts again")
    one.add_argument("--remap", metavar=("OLD", "NEW"), nargs=2, help="a circuit as typed, or a row, is circuit NEW")
    one.add_argument("--accept", metavar="CIRCUIT", help="a marginal result is accepted by the client's side")
    one.add_argument("--waive", metavar="CIRCUIT", help="a circuit, or with --test one test of it, is not asked for")
    one.add_argument("--reason", default="", help="why")
    one.add_argument("--name", default="", help="who decided")
    one.add_argument("--role", default="", help="owner, engineer, authority, general_contractor or own_lead")
    one.add_argument("--date", default="", metavar="YYYY-MM-DD", help="when")
    one.add_argument("--reference", default="", help="letter, mail or minutes that say so")
    one.add_argument("--test", default="", help="the one test that is accepted or waived")
