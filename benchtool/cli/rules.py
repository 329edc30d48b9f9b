"""`benchtool rules`: what the bench looks at, with the reason and the source of each rule."""

import argparse
from pathlib import Path

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, printable, short


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    rules: Parser = commands.add_parser(
        "rules",
        help="list the rules, with the reason and the source of each",
        description="List the rules with the reason and the source of each, or those that hold some words.",
        epilog=(
            "examples:\n"
            "  benchtool rules\n"
            "  benchtool rules recoat stop\n"
            "  benchtool rules --own shop-rules.json --json\n\n"
            "Exit status: 0 fine, 1 a rule of your own is skipped, 2 the input can't be used."
        ),
    )
    rules.add_argument("words", nargs="*", metavar="WORDS", help="list only the rules that hold all of these words")
    rules.add_argument("--own", metavar="FILE", help="read your own rules from this file, and say which are skipped")
    rules.add_argument("--page", action="store_true", help="write the manual's page of all rules (Markdown)")
    return rules


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """List the rules."""
    from benchtool.sheets.rules_page import lines, matching, rules_answer, rules_page, rules_text

    tables = means.tables()
    if args.own is not None:
        from benchtool.session.shoprules import own_rules

        path = Path(args.own)
        if not path.is_file():
            raise Unusable(f"--own “{short(args.own)}” is no file.")
        tables = own_rules(path, tables.substrates).into(tables)
    found = matching(lines(tables), " ".join(printable(word) for word in args.words))
    skipped = tables.skipped
    status = TROUBLE if skipped else FINE
    values = rules_answer(found, skipped)
    if args.page:
        if args.words or args.own is not None:
            raise Unusable("--page writes all rules of the tool: leave the words and --own out.")
        page = rules_page()
        return Answer(FINE, {**values, "page": page}, lambda: page)
    return Answer(status, values, lambda: rules_text(found, skipped))
